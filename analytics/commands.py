"""The command line: each command is an option parser around one library call.

Data goes to stdout, progress and messages to stderr.  Exit codes: 0 done, 2 bad
use, 3 input refused, 4 store busy or damaged.  No arithmetic lives here.
"""

import json
import os
import subprocess
import sys
from collections.abc import Iterator
from contextlib import suppress
from datetime import datetime
from importlib.resources import files
from pathlib import Path

import click
import pandas as pd

from analytics import (
    advice,
    bench,
    demo,
    evidence,
    mechanics,
    rep_log,
    reports,
    strength,
    traces,
)
from analytics import store as storage
from analytics.catalogue import load_catalogue
from analytics.errors import InputError
from analytics.log_commands import COMMANDS as LOG_COMMANDS
from analytics.options import (
    OneLineErrors,
    ask_start,
    lifter_option,
    print_rows,
    progress,
    range_option,
    remark,
    sex_option,
    step_option,
    with_store,
)
from analytics.store import Store


@click.group(cls=OneLineErrors, context_settings={"max_content_width": 100})
@click.version_option(package_name="lacertus")
def main() -> None:
    """Strength from ordinary training logs, set against a mechanical model."""


for command in LOG_COMMANDS:
    main.add_command(command)


# --- what the log and the model say -------------------------------------------


def _fits(store: Store) -> Iterator[strength.StrengthFit]:
    """One fit for each movement that has sets."""
    for movement in storage.movements(store).query("sets > 0")["movement"]:
        yield strength.fitted(store, movement, on_progress=progress(movement))


def _fit_of(store: Store, variant: str | None) -> strength.StrengthFit:
    """Fit the movement a variant belongs to; the catalogue's first without one."""
    known = storage.variants(store).set_index("variant")["movement"]
    if variant is None:
        movement = next(iter(load_catalogue().movements))
    elif variant in known.index:
        movement = str(known[variant])
    else:
        raise InputError(f"no variant '{variant}'; there are: {', '.join(known.index)}")
    return strength.fitted(store, movement, on_progress=progress(movement))


def _check_lifter(store: Store, lifter: str | None) -> None:
    known = storage.lifters(store)["lifter"].tolist()
    if lifter is not None and lifter not in known:
        raise InputError(
            f"no lifter '{lifter}'; there are: {', '.join(known) or 'none yet'}"
        )


@main.command("strength")
@lifter_option
@click.option("--variant", help="Identifier of one variant.")
@click.option("--on", "on_date", type=click.DateTime(["%Y-%m-%d"]), help="One day.")
@with_store
def strength_over_time(
    lifter: str | None,
    variant: str | None,
    on_date: datetime | None,
    store: Store,
    form: str,
) -> None:
    """Estimate strength over time, with 90 % intervals."""
    _check_lifter(store, lifter)
    fits = [_fit_of(store, variant)] if variant else _fits(store)
    print_rows(
        strength.over_time(fits, lifter=lifter, variant=variant, on=on_date), form
    )


@main.command()
@click.option("--reference", help="Variant the others are divided by.")
@lifter_option
@with_store
def ratios(reference: str | None, lifter: str | None, store: Store, form: str) -> None:
    """Compare variants per working arm: logged and modelled ratios."""
    _check_lifter(store, lifter)
    fit = _fit_of(store, reference)
    if reference:
        fit = strength.fitted(store, fit.movement, reference=reference)
    print_rows(evidence.ratio_table(fit, lifter=lifter), form)


@main.command()
@click.argument("variant")
@click.option(
    "--load", "load_kg", type=float, help="Load as logged; limit load without."
)
@range_option
@click.option("--mass", "body_mass_kg", type=float, default=75.0, show_default=True)
@click.option("--stature", "stature_m", type=float, default=1.75, show_default=True)
@click.option("--forearm", "forearm_m", type=float, help="Elbow to wrist, m.")
@sex_option
@with_store
def curve(
    variant: str,
    load_kg: float | None,
    range_deg: tuple[float, float] | None,
    body_mass_kg: float,
    stature_m: float,
    forearm_m: float | None,
    sex: str | None,
    store: Store,
    form: str,
) -> None:
    """Model demand and capability through the range of VARIANT."""
    known = load_catalogue().variants.get(variant)
    share = known.arms_share if known else 1.0
    print_rows(
        mechanics.through_range(
            variant,
            load_kg=None if load_kg is None else load_kg / share,
            range_deg=range_deg,
            body_mass_kg=body_mass_kg,
            stature_m=stature_m,
            sex=sex,
            forearm_m=forearm_m,
        ),
        form,
    )
    ask_start([variant], range_deg, form)


@main.command()
@click.argument("variants", nargs=-1, metavar="[VARIANT]...")
@range_option
@lifter_option
@with_store
def sticking(
    variants: tuple[str, ...],
    range_deg: tuple[float, float] | None,
    lifter: str | None,
    store: Store,
    form: str,
) -> None:
    """Find where each variant is hardest: modelled, logged and traced."""
    _check_lifter(store, lifter)
    print_rows(
        evidence.sticking(
            variants or load_catalogue().modelled,
            range_deg=range_deg,
            sets=storage.sets(store, lifter=lifter),
            reps=storage.reps(store, lifter=lifter),
        ),
        form,
    )
    ask_start(variants or load_catalogue().modelled, range_deg, form)


@main.command()
@lifter_option
@with_store
def fit(lifter: str | None, store: Store, form: str) -> None:
    """Test whether the log fits the modelled curve; prints JSON."""
    _check_lifter(store, lifter)
    test = evidence.curve_test(_fit_of(store, None), lifter=lifter)
    click.echo(json.dumps(test.as_dict(), indent=2, ensure_ascii=False))


@main.command("next")
@click.argument("lifter")
@click.argument("variant")
@click.option("--reps", type=int, required=True, help="Repetitions.")
@click.option(
    "--rir", type=float, default=2, show_default=True, help="Reps in reserve."
)
@step_option
@with_store
def next_load(
    lifter: str,
    variant: str,
    reps: int,
    rir: float,
    step: tuple[float, str],
    store: Store,
    form: str,
) -> None:
    """Suggest the load for LIFTER's next set of VARIANT."""
    _check_lifter(store, lifter)
    step_kg, unit = step
    suggested = advice.next_load(
        _fit_of(store, variant),
        lifter,
        variant,
        sets=storage.sets_and_pains(store, lifter=lifter),
        reps=reps,
        rir=rir,
        step_kg=step_kg,
    )
    print_rows(suggested, form)
    load_kg = suggested["load_kg"].iloc[0]
    remark(advice.warm_up_sentence(load_kg, step_kg=step_kg, unit=unit), form)


@main.command()
@click.option("--load", "load_kg", type=float, required=True, help="Load in the hands.")
@click.option(
    "--mass", "body_mass_kg", type=float, required=True, help="Body mass, kg."
)
@click.option("--stature", "stature_m", type=float, required=True, help="Stature, m.")
@click.option("--reach", "reach_m", type=float, help="Load ahead of the ankle, m.")
@sex_option
@with_store
def balance(
    load_kg: float,
    body_mass_kg: float,
    stature_m: float,
    reach_m: float | None,
    sex: str | None,
    store: Store,
    form: str,
) -> None:
    """Set stance against lean under a load held in front."""
    print_rows(
        mechanics.balance(
            load_kg,
            body_mass_kg=body_mass_kg,
            stature_m=stature_m,
            reach_m=reach_m,
            sex=sex,
        ),
        form,
    )
    remark(f"{mechanics.LEAN_IS_BALANCE}\n{mechanics.SUPPORT_HOLDS}", form)


@main.command()
@click.argument("variant")
@range_option
@with_store
def setups(
    variant: str, range_deg: tuple[float, float] | None, store: Store, form: str
) -> None:
    """Search a cable, pad or bench for the most even match."""
    print_rows(mechanics.search_setups(variant, range_deg=range_deg), form)


@main.command()
@click.argument(
    "paths", nargs=-1, required=True, type=click.Path(path_type=Path), metavar="FILE..."
)
@click.option("--lifter", help="Code of the lifter, for files without one.")
@click.option("--variant", help="What was lifted, for files without an exercise.")
@with_store
def trace(
    paths: tuple[Path, ...],
    lifter: str | None,
    variant: str | None,
    store: Store,
    form: str,
) -> None:
    """Find repetitions and sticking regions in traces, and keep them."""
    found = []
    for path in paths:
        kept, number = rep_log.keep_trace(store, path, lifter=lifter, variant=variant)
        click.echo(f"{path.name}: kept as intake {number}", err=True)
        found.append(kept)
    print_rows(pd.concat(found)[traces.COLUMNS], form)


# --- what leaves the program --------------------------------------------------


@main.command()
@click.argument("directory", type=click.Path(path_type=Path), metavar="DIR")
@click.option("--smallest-cell", type=int, default=10, show_default=True)
@click.option(
    "--key-file",
    type=click.Path(path_type=Path),
    help="Secret of 16 bytes or more, readable by you alone: adds personal ratios and "
    "strength under pseudonyms. Never written anywhere.",
)
@with_store
def tables(
    directory: Path, smallest_cell: int, key_file: Path | None, store: Store, form: str
) -> None:
    """Write aggregate research tables as a data package into DIR."""
    key = reports.read_key(key_file, exported=directory) if key_file else None
    print_rows(
        reports.write_tables(store, directory, smallest_cell=smallest_cell, key=key),
        form,
    )
    click.echo(reports.DIFFERENCING, err=True)


@main.command()
@click.argument("lifter")
@click.argument("file", type=click.Path(path_type=Path), metavar="FILE.html|.pdf")
@with_store
def report(lifter: str, file: Path, store: Store, form: str) -> None:
    """Write a page for LIFTER."""
    _check_lifter(store, lifter)
    reports.write_report(store, lifter, file)
    click.echo(f"report written to {file}", err=True)


@main.command()
@click.option("--port", type=int, default=8501, show_default=True)
@with_store
def serve(port: int, store: Store, form: str) -> None:
    """Serve the dashboard on this machine."""
    _serve(store, port)


def _serve(store: Store, port: int) -> None:
    app = Path(str(files("app"))) / "main.py"
    click.echo(f"dashboard: http://127.0.0.1:{port} (stop with Ctrl-C)", err=True)
    with suppress(KeyboardInterrupt):
        subprocess.run(
            [sys.executable, "-m", "streamlit", "run", app, "--server.port", str(port)],
            cwd=app.parents[1],
            env={**os.environ, "LACERTUS_STORE": str(store.path.resolve())},
            check=False,
        )


@main.command("demo")
@click.option("--port", type=int, default=8501, show_default=True)
@click.option("--no-serve", is_flag=True, help="Print the findings and stop.")
@with_store
def demo_command(port: int, no_serve: bool, store: Store, form: str) -> None:
    """Bring the invented sample logs into a fresh store and show the findings."""
    findings = demo.build(store, on_progress=progress("sample logs"))
    if form == "table":
        click.echo("\n".join(findings["finding"]))
    else:
        print_rows(findings, form)
    if not no_serve:
        _serve(store, port)


@main.command("bench")
@click.option("--sets", "n_sets", type=int, default=1_000_000, show_default=True)
@with_store
def bench_command(n_sets: int, store: Store, form: str) -> None:
    """Time our tasks beside general libraries in the same run."""
    print_rows(bench.run(n_sets, on_progress=progress("tasks")), form)
