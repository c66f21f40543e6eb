"""The cohort as tasks on Dask: read, gather, tell, spread, weigh, fit, join."""

import io
import json
import os
from collections.abc import Callable, Sequence
from dataclasses import replace
from hashlib import sha256
from pathlib import Path
from typing import Any

import pandas as pd
from distributed import Client

from analytics.cohort import fits, read
from analytics.cohort.bundle import packed, unpacked
from analytics.cohort.engine import check_workers, client_of, results, versions
from analytics.cohort.place import Place, digest, sources_of
from analytics.cohort.whole import META, WHOLE, Cohort, joined, modelled_of, tested
from analytics.errors import InputError
from analytics.outgoing import frame_csv
from analytics.reports.counted import Counted, few
from analytics.reports.held import LINES
from analytics.strength import StrengthFit
from analytics.strength.model.sample import SEED

PART_BYTES = 4 << 20  # of logs for each part of the lifters: some 100,000 sets
WORK = "work/"
ACCOUNT = ["file", "rows", "taken", "known", "unnamed", "rejected", "withheld"]
ACCOUNT += ["reason"]
REFUSED = "file refused"
STEPS = ("files", "read", "gather", "tell", "spread", "weigh", "fit", "cells", "join")

Report = Callable[[str, int, int], None]


def run_cohort(
    sources: Sequence[str],
    out: str,
    *,
    scheduler: str | None = None,
    column_map: str = "",
    withheld: Sequence[str] = (),
    workers: int | None = None,
    parts: int | None = None,
    on_progress: Report | None = None,
) -> pd.DataFrame:
    """Take a federation's logs to strength, ratios, verdict and research tables.

    Parameters
    ----------
    sources : sequence of str
        Logs and folders of them; paths or addresses that fsspec knows.
    out : str
        Result folder; one broken off is gone on with.
    scheduler : str, optional
        Address of a Dask scheduler; without, a cluster of this machine's cores.
    column_map : str
        How to read the logs, as TOML.
    withheld : sequence of str
        Codes of lifters whose log no research may use: left out, and counted.
    workers : int, optional
        Of the cluster on this machine. [1]
    parts : int, optional
        Of the lifters; by the size of the logs without. [1]
    on_progress : callable, optional
        Called with the step, its tasks done and expected.

    Returns
    -------
    accounts : DataFrame
        ``file, rows, taken, known, unnamed, rejected, withheld, reason``, as in
        ``accounts.csv``: a file that is refused took no sets and says why.

    Raises
    ------
    InputError
        If there is nothing to read, or the folder was begun with other versions,
        parameters or sources.
    FileRefusedError
        If another run writes to the folder.
    AnalyticsError
        If the workers or the scheduler are gone for good.
    """
    place, found = Place(out), sources_of(list(sources))
    with place.held(), client_of(scheduler, workers) as client:
        check_workers(client)
        graph = _Graph(client, place, on_progress or (lambda *_: None))
        prints = graph.plain("files", read.fingerprint, found)
        size = sum(max(n, 0) for n, _ in prints)
        parts, left_out = parts or _parts(size), tuple(sorted(withheld))
        meta: dict[str, Any] = {
            "versions": versions(),
            "parameters": {
                "column_map": digest(column_map), "parts": str(parts), "seed": SEED,
                "withheld": digest(*left_out),
            },
            "sources": {s: p for s, (_, p) in zip(found, prints, strict=True)},
        }  # fmt: skip
        if _begun(place, meta):
            return pd.read_csv(io.BytesIO(place.read("accounts.csv")))
        return _steps(graph, found, prints, meta, column_map, left_out)


def _parts(size: int) -> int:
    """How many parts logs of so many bytes make: alike for 2, 3 and 4 workers."""
    parts = max(1, -(-size // PART_BYTES))
    return parts if parts < 4 else -(-parts // 12) * 12


def _steps(
    graph: "_Graph",
    found: list[str],
    prints: list[tuple[int, str]],
    meta: dict[str, Any],
    column_map: str,
    left_out: tuple[str, ...],
) -> pd.DataFrame:
    gathered, accounts = _gathered(graph, found, prints, meta, column_map, left_out)
    sets = [name for _, name in gathered]
    shared, smoothed, sample = _shared(graph, gathered)
    fitted = graph.made(
        "fit", fits.fit_part,
        [(s, w, shared) for s, w in zip(sets, smoothed, strict=True)],
        ("fits/part{}.zip", "work/counted{}.zip", "held/part{}.zip"),
    )  # fmt: skip
    whole, counted = _whole(graph, fitted)
    graph.report("join", 0, 1)
    held = [name for _, _, name in fitted]
    _join(graph, whole, counted, meta | {"sample": sample, "held": held}, accounts)
    graph.report("join", 1, 1)
    _clear(graph.place, {*sets, *(name for made in fitted for name in made)})
    return accounts


def _gathered(
    graph: "_Graph",
    found: list[str],
    prints: list[tuple[int, str]],
    meta: dict[str, Any],
    column_map: str,
    left_out: tuple[str, ...],
) -> tuple[list[tuple[str, ...]], pd.DataFrame]:
    """Read the files and put the sets of each part of the lifters together."""
    place, parts = graph.place, int(meta["parameters"]["parts"])
    good = [s for s, (n, _) in zip(found, prints, strict=True) if n >= 0]
    reads = dict(
        zip(good, graph.made(
            "read", read.read_file, [(s, column_map, parts) for s in good],
            ("work/account{}.zip", "work/rows{}"),
            keys=[(meta["sources"][s], Path(s).name, column_map, parts) for s in good],
            with_place=False,
        ), strict=True)
    )  # fmt: skip
    rows = [_if_any(place, name) for _, name in reads.values()]
    accounts = [graph.read(name) for name, _ in reads.values()]
    small = graph.kept("small", read.smalls(accounts))
    gathered = graph.made(
        "gather", read.gather,
        [(rows, small, part, parts, left_out) for part in range(parts)],
        ("work/told{}.zip", "sets/part{}.parquet"),
    )  # fmt: skip
    told = [graph.read(name)["taken"] for name, _ in gathered]
    counted = _accounts(
        graph, found, prints, told, dict(zip(good, accounts, strict=True)), rows
    )
    return gathered, counted


def _shared(
    graph: "_Graph", gathered: list[tuple[str, ...]]
) -> tuple[str, list[str], dict[str, list[str]]]:
    """Find out what all lifters share; its name, those of the series, the sample."""
    sets = [name for _, name in gathered]
    arms = fits.usual_arms([graph.read(name)["arms"] for name, _ in gathered])
    telling = graph.made(
        "tell", fits.tell_part, [(name, arms) for name in sets],
        ("work/brief{}.zip", "work/told{}.zip"),
    )  # fmt: skip
    shared, sample = fits.agree([graph.read(name) for name, _ in telling], arms)
    name = graph.kept("shared", shared)
    spreads = graph.made(
        "spread", fits.spread_sample,
        [(sets, name, movement, codes) for movement, codes in sample.items()],
        ("work/spread{}.zip",),
    )  # fmt: skip
    shared = {m: graph.read(s) for m, (s,) in zip(sample, spreads, strict=True)}
    name = graph.kept("shared", shared)
    weighing = graph.made(
        "weigh", fits.weigh_part, [(told, name) for _, told in telling],
        ("work/sums{}.zip", "work/smoothed{}.zip"),
    )  # fmt: skip
    whole = fits.with_sums(shared, [graph.read(name) for name, _ in weighing])
    return graph.kept("shared", whole), [name for _, name in weighing], sample


def _whole(
    graph: "_Graph", fitted: list[tuple[str, ...]]
) -> tuple[dict[str, StrengthFit], dict[str, Counted]]:
    """Join the parts: fits, and counts with the lifters of the cells that need them."""
    whole, counted = joined([graph.read(name) for _, name, _ in fitted])
    name = graph.kept("few", {movement: few(of) for movement, of in counted.items()})
    made = graph.made(
        "cells", fits.cells_part, [(held, name) for _, _, held in fitted],
        ("work/cells{}.zip",),
    )  # fmt: skip
    found = [graph.read(name) for (name,) in made]
    for movement, of in counted.items():
        own = [part[movement] for part in found if movement in part]
        lines = {line: pd.concat([part[line] for part in own]) for line in LINES}
        counted[movement] = replace(of, lines=lines)
    return whole, counted


def _join(
    graph: "_Graph",
    whole: dict[str, StrengthFit],
    counts: dict[str, Counted],
    meta: dict[str, Any],
    accounts: pd.DataFrame,
) -> None:
    """Say what the whole cohort says, and write it."""
    place = graph.place
    verdicts = {
        name: tested(fit, counts[name]).as_dict()
        for name, fit in whole.items()
        if modelled_of(fit)
    }
    bare = {m: replace(fit, personal=fit.personal.head(0)) for m, fit in whole.items()}
    cohort = Cohort(
        address="",  # the same bytes wherever it lies
        meta=meta,
        fits=bare,
        counted=counts,
        verdicts=verdicts,
    )
    try:
        tables, reason = cohort.tables()[0], ""
    except InputError as error:
        tables, reason = {}, str(error)
    for name, table in tables.items():
        place.write(f"tables/{name}.parquet", table.to_parquet(index=False))
        place.write(f"tables/{name}.csv", frame_csv(table).encode())
    ratios = [fit.ratios.assign(movement=name) for name, fit in whole.items()]
    if ratios:
        place.write("ratios.csv", frame_csv(pd.concat(ratios)).encode())
    place.write("verdict.json", _json(verdicts))
    place.write("accounts.csv", frame_csv(accounts).encode())
    place.write(META, _json(meta | {"no_tables": reason}))
    place.write(WHOLE, packed(cohort))


def _json(value: object) -> bytes:
    return json.dumps(value, indent=1, sort_keys=True, ensure_ascii=False).encode()


def _if_any(place: Place, name: str) -> str:
    """Name the rows of a file; empty where it was refused."""
    return name if place.fs.size(place.path(name)) else ""


def _accounts(
    graph: "_Graph",
    found: list[str],
    prints: list[tuple[int, str]],
    told: list[pd.DataFrame],
    accounts: dict[str, dict[str, Any]],
    row_files: list[str],
) -> pd.DataFrame:
    """Say what became of each file."""
    taken = pd.concat(told).groupby("intake_id")[read.COUNTS].sum()
    files = dict(zip(accounts, row_files, strict=True))
    numbers = {source: number for number, source in enumerate(accounts, start=1)}
    rows: list[dict[str, Any]] = []
    rejected = []
    for source, (size, why) in zip(found, prints, strict=True):
        if size < 0:
            rows.append({"file": source, "reason": f"{REFUSED}: {why}"})
            continue
        own = dict(accounts[source])
        if not files[source]:
            rows.append(
                {**own, "file": source, "reason": f"{REFUSED}: {own['reason']}"}
            )
            continue
        number = numbers[source]
        sets, unnamed, withheld = (
            map(int, taken.loc[number]) if number in taken.index else (0, 0, 0)
        )
        rejected.append(own["rejected_rows"].assign(file=source))
        own["known"] += own["stored"] - sets - withheld
        own |= {"taken": sets, "unnamed": unnamed, "withheld": withheld}
        rows.append({"file": source, **own})
    if rejected:
        first = frame_csv(pd.concat(rejected, ignore_index=True))
        graph.place.write("rejected.csv", first.encode())
    table = pd.DataFrame(rows).reindex(columns=ACCOUNT)
    counts = ACCOUNT[1:-1]
    return table.assign(**table[counts].fillna(0).astype(int))


def _begun(place: Place, meta: dict[str, Any]) -> bool:
    """Begin a folder, or compare with how it was begun; tell whether it is finished."""
    if not place.has(META):
        if strange := [n for n in place.names() if not n.startswith(("_", "."))]:
            raise InputError(
                f"{place.address} holds `{strange[0]}` and is of no cohort; give a new "
                "or empty folder"
            )
        place.write(META, _json(meta))
        return False
    former = json.loads(place.read(META))
    for topic, values in meta.items():
        for name in sorted({*values, *former[topic]}):
            then, now = former[topic].get(name), values.get(name)
            if then != now:
                raise InputError(
                    f"{place.address} was begun with other {topic}: `{name}` was "
                    f"{then or 'not there'} and is {now or 'not there'}; give a new "
                    "folder, or go on as it was begun"
                )
    return place.has(WHOLE)


def _clear(place: Place, kept: set[str]) -> None:
    """Remove what only the run needed, and what a killed one left half."""
    for name in place.names():
        half = Path(name).name.startswith(".")
        stale = name.startswith(("sets/", "fits/", "held/")) and name not in kept
        if half or stale or name.startswith(WORK):
            place.remove(name)


class _Graph:
    """Tasks that leave files named by what they were made from."""

    def __init__(self, client: Client, place: Place, report: Report) -> None:
        self.client, self.place, self.report = client, place, report

    def plain(
        self, step: str, task: Callable[..., Any], given: Sequence[Any]
    ) -> list[Any]:
        """Run a task for each, and return what comes back, in order."""
        futures = [self.client.submit(task, one, pure=False) for one in given]
        self.report(step, 0, len(futures))
        found: dict[Any, Any] = {}
        for future, result in results(self.client, futures):
            found[future.key] = result
            self.report(step, len(found), len(futures))
        return [found[future.key] for future in futures]

    def made(
        self,
        step: str,
        task: Callable[..., tuple[bytes, ...]],
        given: Sequence[tuple[Any, ...]],
        names: tuple[str, ...],
        *,
        keys: Sequence[Any] | None = None,
        with_place: bool = True,
    ) -> list[tuple[str, ...]]:
        """Make files by a task for each, but for those that are there; their names."""
        made = []
        for number, args in enumerate(given):
            key = digest(versions(), step, args if keys is None else keys[number])
            label = f"-{number:05d}-{key}" if keys is None else f"-{key}"
            made.append(tuple(name.format(label) for name in names))
        jobs = {
            own: (self.place.address, own, task, args, with_place)
            for own, args in zip(made, given, strict=True)
        }
        self.plain(step, _make, list(jobs.values()))
        return made

    def read(self, name: str) -> Any:
        """Read what a task handed on."""
        return unpacked(self.place.read(name))

    def kept(self, name: str, value: object) -> str:
        """Write a value under the name of its content."""
        content = packed(value)
        path = f"{WORK}{name}-{sha256(content).hexdigest()[:16]}.zip"
        self.place.write(path, content)
        return path


def _make(
    job: tuple[
        str, tuple[str, ...], Callable[..., tuple[bytes, ...]], tuple[Any, ...], bool
    ],
) -> None:
    """Make the files of one task on a worker, the first of them last."""
    address, names, task, args, with_place = job
    place = Place(address)
    if place.has(names[0]):
        return
    os.umask(0o077)
    made = task(*([place] if with_place else []), *args)
    for name, content in reversed(list(zip(names, made, strict=True))):
        place.write(name, content)
