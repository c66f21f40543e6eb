"""Commands whose result leaves the terminal: tables, report, dashboard, benchmark."""

from __future__ import annotations

import os
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

import click

from analytics.cli.asked import code_of
from analytics.cli.options import cohort_stage, day_option, unit_option, with_store
from analytics.cli.printing import print_table, progress, say

if TYPE_CHECKING:
    from analytics.store import Store

HERE = "127.0.0.1"


@click.command()
@click.argument("directory", type=click.Path(path_type=Path), metavar="DIR")
@click.option("--smallest-cell", type=int, default=10, show_default=True)
@click.option(
    "--key-file",
    type=click.Path(path_type=Path),
    help="Secret readable by you alone, made by: openssl rand -hex 32 > FILE; chmod "
    "600 FILE. Adds personal ratios and strength under pseudonyms. Written nowhere.",
)
@click.option(
    "--again",
    is_flag=True,
    help="Also if a former release can be subtracted.",
)
@click.option("--cohort", metavar="DIR", help="Of a result folder, not the store.")
@with_store
def tables(
    directory: Path,
    smallest_cell: int,
    key_file: Path | None,
    again: bool,
    cohort: str | None,
    store: Store,
    form: str,
) -> None:
    """Write aggregate research tables as a data package into DIR."""
    from analytics import reports

    if cohort is not None:
        if key_file is not None:
            raise click.UsageError("a cohort has no personal tables; leave --key-file")
        of = cohort_stage().open_cohort(cohort)
        written = of.write_tables(directory, smallest_cell=smallest_cell, again=again)
    else:
        key = reports.read_key(key_file, exported=directory) if key_file else None
        written = reports.write_tables(
            store, directory, smallest_cell=smallest_cell, key=key, again=again
        )
    print_table(written, form)
    say(reports.DIFFERENCING, err=True)


@click.command()
@click.argument("lifter", required=False)
@click.argument(
    "file",
    type=click.Path(path_type=Path),
    metavar="FILE.html|.pdf",
    required=False,
)
@click.option(
    "--all",
    "every",
    type=click.Path(path_type=Path),
    metavar="FILE.zip",
    help="Reports of all lifters instead of LIFTER FILE.",
)
@click.option("--coach", default="", help="Name of the coach, printed on it.")
@click.option("--note", default="", help="What the coach adds, printed on it.")
@day_option("--since", "since", "Changes since this day; four weeks without.")
@unit_option
@with_store
def report(
    lifter: str | None,
    file: Path | None,
    every: Path | None,
    coach: str,
    note: str,
    since: datetime | None,
    unit: str | None,
    store: Store,
    form: str,
) -> None:
    """Write a page for LIFTER, or for everybody with --all."""
    from analytics import reports

    day = since.date() if since else None
    if every is not None and lifter is None:
        codes = reports.write_reports(
            store,
            every,
            coach=coach,
            note=note,
            since=day,
            unit=unit or "kg",
            on_progress=progress("reports"),
        )
        return say(f"{len(codes)} reports written to {every}", err=True)
    if lifter is None or file is None or every is not None:
        raise click.UsageError("give LIFTER and FILE, or --all FILE.zip alone")
    code = code_of(store, lifter)
    reports.write_report(
        store, code, file, coach=coach, note=note, since=day, unit=unit or "kg"
    )
    say(f"report written to {file}", err=True)


@click.command()
@click.option("--port", type=click.IntRange(1, 65535), default=8501, show_default=True)
@click.option(
    "--address",
    default=HERE,
    show_default=True,
    help="Address to listen at; any other lets in whoever reaches it, without asking.",
)
@click.option(
    "--shared",
    type=click.Path(path_type=Path),
    metavar="CONFIG.toml",
    help="For several people: with sign-in, as the guide for servers says.",
)
@click.option(
    "--cohort", metavar="DIR", help="A result folder to read, instead of the store."
)
@with_store
def serve(
    port: int,
    address: str,
    shared: Path | None,
    cohort: str | None,
    store: Store,
    form: str,
) -> None:
    """Serve the dashboard, on this machine or to people who sign in."""
    from analytics.cli.serving import run_dashboard
    from analytics.cli.shared import read_shared

    if cohort is not None:
        if shared is not None:
            raise click.UsageError("give --cohort or --shared, not both")
        cohort_stage().open_cohort(cohort)  # refused here rather than on the page
        nowhere = Path(os.devnull) / "none.duckdb"
        return run_dashboard(nowhere, port=port, address=address, cohort=cohort)
    sign_in = read_shared(shared) if shared else None
    run_dashboard(store.path, port=port, address=address, shared=sign_in)


@click.command()
@click.option("--port", type=click.IntRange(1, 65535), default=8501, show_default=True)
@click.option("--no-serve", is_flag=True, help="Print the findings and stop.")
@with_store
def demo(port: int, no_serve: bool, store: Store, form: str) -> None:
    """Bring the invented sample logs into a fresh store and show the findings."""
    from analytics.cli.demo import build

    findings = build(store, on_progress=progress("sample logs"))
    if form == "table":
        say("\n".join(findings["finding"]))
    else:
        print_table(findings, form)
    if not no_serve:
        from analytics.cli.serving import run_dashboard

        run_dashboard(store.path, port=port, address=HERE)


@click.command()
@click.option("--sets", "n_sets", type=int, default=1_000_000, show_default=True)
@with_store
def bench(n_sets: int, store: Store, form: str) -> None:
    """Time our tasks beside general libraries in the same run."""
    from analytics.cli.bench.timing import run

    print_table(run(n_sets, on_progress=progress("tasks")), form)


COMMANDS = (tables, report, serve, demo, bench)
