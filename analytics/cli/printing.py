"""Rows to stdout, remarks and progress to stderr."""

from __future__ import annotations

import json
import sys
from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import TYPE_CHECKING

import click

from analytics.labels import shown
from analytics.outgoing import csv_text

if TYPE_CHECKING:
    import pandas as pd

Row = Mapping[str, object]
MOST_SAID = 8  # remarks; a cohort has thousands


def say(text: str, *, err: bool = False, nl: bool = True) -> None:
    """Print a text in which nothing is an order to the terminal."""
    click.echo(shown(text), err=err, nl=nl)


def print_table(frame: pd.DataFrame, form: str) -> None:
    """Print a table as people or programs read it."""
    for name in frame.select_dtypes("datetime").columns:
        frame = frame.assign(**{name: frame[name].dt.strftime("%Y-%m-%d")})
    plain = frame.astype(object).where(frame.notna(), None)
    print_rows(plain.to_dict("records"), form, columns=list(frame.columns))


def print_rows(
    rows: Sequence[Row], form: str, *, columns: Iterable[str] | None = None
) -> None:
    """Print rows, None for what is missing; columns are those of the first row."""
    names = list(rows[0] if columns is None else columns)
    if form == "csv":
        cells = ([row[name] for name in names] for row in rows)
        say(csv_text(names, cells), nl=False)
    elif form == "json":
        say(json.dumps(rows, indent=2, ensure_ascii=False, default=str))
    elif not rows:
        say("nothing to show", err=True)
    else:
        lines = [names, *([_cell(row[name]) for name in names] for row in rows)]
        widths = [max(map(len, column)) for column in zip(*lines, strict=True)]
        for line in lines:
            say(" ".join(map(str.rjust, line, widths)))


def _cell(value: object) -> str:
    if value is None:
        return "-"
    text = f"{value:.4g}" if isinstance(value, float) else str(value)
    return shown(text).replace("\n", "\\n").replace("\t", "\\t")


def remark(text: str, form: str) -> None:
    """Say on stderr what a person should know beside a table."""
    if form == "table" and text:
        say(text, err=True)


def warn_all(texts: Sequence[str]) -> None:
    """Say on stderr what numbers must not be read without, however they are printed."""
    for text in texts[:MOST_SAID]:
        click.echo(_cell(text), err=True)
    if len(texts) > MOST_SAID:
        click.echo(f"and {len(texts) - MOST_SAID} more like these", err=True)


def progress(label: str) -> Callable[[int, int], None] | None:
    """Give a counter on stderr, only where somebody watches."""
    if not sys.stderr.isatty():
        return None

    def show(done: int, total: int) -> None:
        click.echo(f"\r{shown(label)} {done}/{total}", err=True, nl=done >= total)

    return show
