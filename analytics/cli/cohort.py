"""The command that takes a federation's logs to a result folder."""

from __future__ import annotations

import sys
import time
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import click

from analytics.cli.options import cohort_stage, with_store
from analytics.cli.printing import print_table, say
from analytics.errors import FileRefusedError

if TYPE_CHECKING:
    from analytics.store import Store

BAR = 30  # letters


@click.command()
@click.argument("sources", nargs=-1, required=True, metavar="SOURCE...")
@click.option("--out", required=True, metavar="DIR", help="Result folder or address.")
@click.option("--scheduler", metavar="ADDRESS", help="Of Dask; without, this machine.")
@click.option(
    "--columns",
    "map_path",
    type=click.Path(path_type=Path),
    metavar="MAP.toml",
    help="How to read the logs.",
)
@with_store
def cohort(
    sources: tuple[str, ...],
    out: str,
    scheduler: str | None,
    map_path: Path | None,
    store: Store,
    form: str,
) -> None:
    """Fit the logs SOURCE of a whole cohort, on all cores or a Dask cluster.

    Lifters who withhold their log, as the store knows, are left out and counted.
    """
    from analytics.intake import read_column_map
    from analytics.store import withholding

    column_map = read_column_map(map_path).to_toml() if map_path else ""
    stage = cohort_stage()
    accounts = stage.run_cohort(
        sources,
        out,
        scheduler=scheduler,
        column_map=column_map,
        withheld=withholding(store),
        on_progress=_progress(stage.STEPS),
    )
    print_table(accounts, form)
    refused = accounts["reason"].fillna("").str.startswith(stage.REFUSED).sum()
    if refused:
        raise FileRefusedError(
            f"{refused} of {len(accounts)} files could not be read and are not in the "
            f"result; see reason in {out}/accounts.csv"
        )


def _progress(steps: Sequence[str]) -> Callable[[str, int, int], None]:
    """Say how far the run is: a bar for who watches, lines for a log."""
    began: dict[str, float] = {}
    watched = sys.stderr.isatty()

    def show(step: str, done: int, total: int) -> None:
        now = time.monotonic()
        passed = now - began.setdefault(step, now)
        left = f", about {passed / done * (total - done):.0f} s left" if done else ""
        text = f"{steps.index(step) + 1}/{len(steps)} {step} {done}/{total}{left}"
        if watched:
            bar = "#" * (BAR * done // max(total, 1))
            click.echo(f"\r[{bar:<{BAR}}] {text:<40}", err=True, nl=done >= total)
        elif done >= total or done * 10 // total > (done - 1) * 10 // total:
            say(text, err=True)

    return show


COMMANDS = (cohort,)
