"""The report for one lifter in plain words, HTML or PDF, and those of all as a ZIP."""

import io
import re
import zipfile
from collections.abc import Callable
from datetime import date, timedelta
from importlib import metadata, resources
from itertools import count
from pathlib import Path
from typing import Any

import jinja2
import pandas as pd
from markupsafe import Markup

from analytics import advice
from analytics.advice import direct
from analytics.catalogue import main_movement
from analytics.errors import InputError, NotWrittenError
from analytics.labels import typeset
from analytics.reports.movement_part import in_words, movement_part
from analytics.reports.printing import pdf_of
from analytics.reports.since import work_since
from analytics.reports.whole import write_whole
from analytics.shown_loads import loads_in, text_in
from analytics.store import (
    Store,
    bodies,
    coach_note,
    for_reader,
    private_files,
    sets_and_pains,
)
from analytics.strength import StrengthFit
from analytics.units import KG_PER_UNIT

REPS, RIR = advice.REPS, advice.RIR
WEEKS_BACK = 4  # that changes are told against where no day is given
MOST_LIFTS = 8
MOST_LOADS, MOST_OTHER_LOADS = 5, 3  # of the movement done most, of each other
OTHERS_ON_A_PAGE = 3
LONG_LETTERS = 2200  # of advice; above it the second page has smaller type


@private_files()
def write_report(
    store: Store,
    lifter: str,
    path: Path,
    *,
    coach: str = "",
    note: str = "",
    since: date | None = None,
    unit: str = "kg",
) -> Path:
    """Write the report of one lifter.

    Parameters
    ----------
    store : Store
        Where the sets are.
    lifter : str
        Code.
    path : Path
        Ends in ``.html`` or ``.pdf``.
    coach, note, since, unit
        As in :func:`report_html`.

    Returns
    -------
    path : Path
        The same.

    Raises
    ------
    InputError
        If the ending is another one, the lifter has no sets, or a PDF is asked for
        and cannot be set.
    NotWrittenError
        If the file cannot be written.
    """
    if path.suffix.lower() not in (".html", ".pdf"):
        raise InputError(f"'{path.name}' must end in .html or .pdf")
    page, others = _composed(
        store, lifter, coach=coach, note=note, since=since, unit=unit
    )
    html = path.suffix.lower() == ".html"
    most_pages = 2 - (-others // OTHERS_ON_A_PAGE)
    _put(path, page.encode() if html else pdf_of(page, most_pages=most_pages))
    return path


@private_files()
def write_reports(
    store: Store,
    path: Path,
    *,
    coach: str = "",
    note: str = "",
    since: date | None = None,
    unit: str = "kg",
    on_progress: Callable[[int, int], None] | None = None,
) -> list[str]:
    """Write the reports of all lifters as HTML into one ZIP.

    Parameters
    ----------
    store : Store
        Where the sets are.
    path : Path
        Ends in ``.zip``.
    coach, note, since, unit
        As in :func:`report_html`, in every report.
    on_progress : callable, optional
        Called with reports written and how many there are.

    Returns
    -------
    lifters : list of str
        Whose reports are in it.

    Raises
    ------
    InputError
        If the ending is another one or nobody has sets.
    NotWrittenError
        If the file cannot be written.
    """
    if path.suffix.lower() != ".zip":
        raise InputError(f"'{path.name}' must end in .zip")
    sets = sets_and_pains(store)
    codes = sorted(sets.loc[sets["movement"] != "", "lifter"].unique())
    if not codes:
        raise InputError("nobody has sets yet; import a log first")
    content, names = io.BytesIO(), _file_names(codes)
    with zipfile.ZipFile(content, "w", zipfile.ZIP_DEFLATED) as archive:
        for done, (code, name) in enumerate(names.items(), 1):
            page = report_html(
                store, code, coach=coach, note=note, since=since, unit=unit
            )
            archive.writestr(name, page)
            if on_progress is not None:
                on_progress(done, len(codes))
    _put(path, content.getvalue())
    return codes


def _file_names(codes: list[str]) -> dict[str, str]:
    """Name a file for each code: no folder, nor two that one disk takes for one."""
    names: dict[str, str] = {}
    for code in codes:
        plain = "report_" + re.sub(r"[^\w-]+", "_", code)
        tried = (f"{plain}{'' if n == 1 else f'_{n}'}.html" for n in count(1))
        taken = {name.lower() for name in names.values()}
        names[code] = next(name for name in tried if name.lower() not in taken)
    return names


def _put(path: Path, content: bytes) -> None:
    try:
        write_whole(path, content)
    except OSError as error:
        raise NotWrittenError(f"cannot write {path}: {error}") from error


def report_html(
    store: Store,
    lifter: str,
    *,
    coach: str = "",
    note: str = "",
    since: date | None = None,
    unit: str = "kg",
) -> str:
    """Compose the report of one lifter as one HTML page without outside parts.

    Parameters
    ----------
    store : Store
        Where the sets are.
    lifter : str
        Code.
    coach, note : str
        Who hands it over, and what that person adds to the stored note on the lifter;
        printed as text.
    since : date, optional
        Day that changes are told against, such as that of the last report; four weeks
        before the last set if not given.
    unit : str
        ``kg`` or ``lb``, in which loads are printed.

    Returns
    -------
    page : str
        HTML.

    Raises
    ------
    InputError
        If the lifter has no sets.
    """
    return _composed(store, lifter, coach=coach, note=note, since=since, unit=unit)[0]


def _composed(
    store: Store,
    lifter: str,
    *,
    coach: str,
    note: str,
    since: date | None,
    unit: str,
) -> tuple[str, int]:
    """Compose the page; also tell how many movements are on it beside the first."""
    may_see, store = store.asking.may_see, for_reader(store, lifter)
    sets = sets_and_pains(store)
    there = sets[sets["movement"] != ""]
    own = there[there["lifter"] == lifter]
    if own.empty:
        codes = ", ".join(sorted(filter(may_see, there["lifter"].unique())))
        raise InputError(
            f"no sets of lifter '{lifter}'; lifters with sets: {codes or 'none'}"
        )
    since = since or own["performed_on"].max().date() - timedelta(weeks=WEEKS_BACK)
    counts = own["movement"].value_counts().to_dict()
    first = main_movement(counts)
    body = bodies(store, lifter=lifter)
    found = [
        movement_part(store, lifter, name, sets=sets, body=body, since=since, unit=unit)
        for name in [first, *(name for name in counts if name != first)]
    ]
    fits, parts = [fit for fit, _ in found], [part for _, part in found]
    content = _header(own, lifter, since) | {"coach": coach, "unit": unit}
    notes = (note, coach_note(store, lifter))
    content["notes"] = [Markup.escape(text) for text in notes if text]
    content |= _lifts(parts, unit) | {"main": parts[0], "others": parts[1:]}
    content |= _loads(fits, lifter, sets, unit)
    content |= _work(fits, lifter, sets, body)
    content["work"] = [*content["work"], *parts[0]["technique"]]
    advised = [*content["load_notes"], *content["work"], parts[0]["verdict"]]
    content["long"] = sum(map(len, advised)) > LONG_LETTERS
    template = resources.files("analytics.reports").joinpath("templates", "client.html")
    environment = jinja2.Environment(
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        finalize=lambda value: typeset(_shown(value, unit)),
    )
    page = environment.from_string(template.read_text("utf-8")).render(content)
    return page, len(parts) - 1


def _shown(value: Any, unit: str) -> Any:
    """Put a sentence of ours in the unit; what a person typed is markup and stays."""
    return text_in(value, unit) if type(value) is str else value


def _header(own: pd.DataFrame, lifter: str, since: date) -> dict[str, Any]:
    known = own["rir"].notna() | own["failed"].fillna(False).astype(bool)
    return {
        "lifter": lifter,
        "first": f"{own['performed_on'].min():%Y-%m-%d}",
        "last": f"{own['performed_on'].max():%Y-%m-%d}",
        "sets": len(own),
        "effort": f"{known.mean():.0%}",
        "flagged": int((own["flag"] != "").sum()),
        "printed": date.today().isoformat(),
        "version": metadata.version("lacertus"),
        "since": since.isoformat(),
        "done_since": work_since(own, since),
    }


def _lifts(parts: list[dict[str, Any]], unit: str) -> dict[str, Any]:
    """Every lift now and against the day, the most logged first."""
    tables = [part["lifts"] for part in parts if len(part["lifts"])]
    rows = pd.concat(tables) if tables else pd.DataFrame(columns=["sets"])
    rows = loads_in(rows.sort_values("sets", ascending=False, kind="stable"), unit)
    more = len(rows) - MOST_LIFTS
    return {
        "more_lifts": f"The {MOST_LIFTS} most logged of {len(rows)}." * (more > 0),
        "lifts": [
            {
                "name": in_words(row["setup"]),
                "strength": f"{row['strength_kg']:.1f}",
                "interval": f"{row['low_kg']:.1f} to {row['high_kg']:.1f}",
                "said": row["said"],
            }
            for _, row in rows.head(MOST_LIFTS).iterrows()
        ],
    }


def _loads(
    fits: list[StrengthFit], lifter: str, sets: pd.DataFrame, unit: str
) -> dict[str, Any]:
    own = sets[sets["lifter"] == lifter]
    rows: list[pd.DataFrame] = []
    unknown: list[str] = []
    for fit in fits:
        most = MOST_OTHER_LOADS if rows else MOST_LOADS
        counts = own.loc[own["movement"] == fit.movement, "variant"].value_counts()
        for variant in counts.head(most).index:
            step_kg = advice.usual_step(fit, variant, unit=unit) * KG_PER_UNIT[unit]
            try:
                row = advice.next_load(
                    fit,
                    lifter,
                    variant,
                    sets=sets,
                    reps=REPS,
                    rir=RIR,
                    step_kg=step_kg,
                )
            except InputError as error:
                unknown.append(str(error))
            else:
                rows.append(row)
    table = pd.concat(rows) if rows else pd.DataFrame(columns=["caution", "load_kg"])
    known = loads_in(table[table["load_kg"].notna()], unit)
    said = [[part for part in text.split(". ") if part] for text in table["caution"]]
    for variant, parts in zip(table.get("variant", []), said, strict=True):
        if parts[0].startswith("no step"):
            parts[0] = f"{variant}: {parts[0]}"
    notes = dict.fromkeys([*unknown, *(part for parts in said for part in parts)])
    held = {
        n for n in notes if n.startswith(("held to", "more than"))
    }  # of one variant
    return {
        "reps": REPS,
        "rir": RIR,
        "loads": [
            {
                "variant": in_words(r["variant"]),
                "load": f"{r['load_kg']:.4g}",
                "interval": f"{r['low_kg']:.1f} to {r['high_kg']:.1f}",
                "basis": ", ".join(
                    [r["basis"].split(";")[0].split(" of ")[0]]
                    + [note for note in held if note in r["caution"]]
                    + [advice.ASSUMED] * (advice.PRIOR_ONLY in r["caution"])
                ),
            }
            for _, r in known.iterrows()
        ],
        "load_notes": [
            in_words(note[:1].upper() + note[1:]) for note in notes if note not in held
        ],
    }


def _work(
    fits: list[StrengthFit], lifter: str, sets: pd.DataFrame, body: pd.DataFrame
) -> dict[str, Any]:
    said: list[str] = []
    cannot_say: tuple[str, ...] = ()
    for fit in fits:
        if fit.movement == advice.direct_movement():
            done = advice.direct_work(sets, body, fit.slopes, lifter=lifter)
            said, cannot_say = [*done.can_say], done.cannot_say
    shares = direct.weekly_shares(fits, sets, body, lifter=lifter)
    if shares.rows["share"].notna().any():
        answer = direct.direct_answer(shares)
        growth, *_ = answer.reasons
        said += [answer.sentence, growth]
    sore = sets[(sets["lifter"] == lifter) & (sets["pain"] > 0)]
    if len(sore):
        days = sore["performed_on"].nunique()
        said.append(
            f"Pain was logged on {days} day{'s' * (days != 1)}, last on "
            f"{sore['performed_on'].max():%Y-%m-%d}."
        )
    return {"work": [*map(in_words, said)], "cannot_say": cannot_say}
