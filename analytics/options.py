"""What all commands share: errors in one line, options, printing, progress."""

import sys
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import Any

import click
import pandas as pd

from analytics.catalogue import load_catalogue
from analytics.errors import AnalyticsError
from analytics.store import Store
from analytics.units import KG_PER_UNIT

FORMS = ("table", "csv", "json")


class OneLineErrors(click.Group):
    """Turns the library's own errors into one line and the contract's exit code."""

    def invoke(self, ctx: click.Context) -> Any:
        """Run the command; our own errors end it in one line."""
        try:
            return super().invoke(ctx)
        except AnalyticsError as error:
            click.echo(f"lacertus: {error}", err=True)
            ctx.exit(error.exit_code)
        except click.UsageError as error:
            command = error.ctx.command_path if error.ctx else ctx.command_path
            message = error.format_message().rstrip(".")
            click.echo(f"lacertus: {message}; see {command} --help", err=True)
            ctx.exit(error.exit_code)


def with_store(command: Callable[..., None]) -> Callable[..., None]:
    """Give a command the two options every command has."""
    command = click.option(
        "--as",
        "form",
        type=click.Choice(FORMS),
        default="table",
        show_default=True,
        help="How rows are printed.",
    )(command)
    return click.option(
        "--store",
        "store",
        envvar="LACERTUS_STORE",
        default="lacertus.duckdb",
        show_default=True,
        type=click.Path(dir_okay=False, path_type=Path),
        callback=lambda _ctx, _param, path: Store(path),
        help="The store file; also LACERTUS_STORE.",
    )(command)


def print_rows(frame: pd.DataFrame, form: str) -> None:
    """Print a table to stdout as people or programs read it."""
    for name in frame.select_dtypes("datetime").columns:
        frame = frame.assign(**{name: frame[name].dt.strftime("%Y-%m-%d")})
    if form == "csv":
        click.echo(frame.to_csv(index=False), nl=False)
    elif form == "json":
        click.echo(frame.to_json(orient="records", indent=2, force_ascii=False))
    elif frame.empty:
        click.echo("nothing to show", err=True)
    else:
        click.echo(
            frame.to_string(index=False, na_rep="-", float_format=lambda x: f"{x:.4g}")
        )


def remark(text: str, form: str) -> None:
    """Say on stderr what a person should know beside a table."""
    if form == "table" and text:
        click.echo(text, err=True)


def ask_start(
    variants: Iterable[str], range_deg: tuple[float, float] | None, form: str
) -> None:
    """Say on which pads the range was left to us: its start decides the result."""
    known = load_catalogue().variants
    pads = [known[v] for v in variants if v in known and known[v].support == "pad"]
    if range_deg is None and pads:
        ranges = ", ".join(
            f"{pad.variant} {pad.range_from_deg:g}:{pad.range_to_deg:g}" for pad in pads
        )
        remark(
            "on a pad the start of the range decides nearly everything, and it is "
            f"assumed here: {ranges}; give the lifter's own with --range A:B",
            form,
        )


def progress(label: str) -> Callable[[int, int], None] | None:
    """Give a counter on stderr, only where somebody watches."""
    if not sys.stderr.isatty():
        return None

    def show(done: int, total: int) -> None:
        click.echo(f"\r{label} {done}/{total}", err=True, nl=done >= total)

    return show


def _two_angles(
    _ctx: click.Context, _param: click.Parameter, text: str | None
) -> tuple[float, float] | None:
    if text is None:
        return None
    try:
        first, last = (float(part) for part in text.split(":"))
    except ValueError as error:
        raise click.BadParameter(
            f"'{text}' is not two elbow angles in degrees, such as 30:120"
        ) from error
    return first, last


def _load_step(
    _ctx: click.Context, _param: click.Parameter, text: str
) -> tuple[float, str]:
    """Read a step of load: in kilograms, and the unit it was given in."""
    number, unit = text.strip().lower(), "kg"
    for ending in ("kg", "lb"):
        if number.endswith(ending):
            number, unit = number.removesuffix(ending), ending
    try:
        return float(number) * KG_PER_UNIT[unit], unit
    except ValueError as error:
        raise click.BadParameter(
            f"'{text}' is not a step of load, such as 2.5 (kg) or 5lb"
        ) from error


step_option = click.option(
    "--step",
    "step",
    default="2.5",
    show_default=True,
    callback=_load_step,
    metavar="KG",
    help="Smallest change of load the equipment allows; 5lb for pounds.",
)
range_option = click.option(
    "--range",
    "range_deg",
    callback=_two_angles,
    metavar="A:B",
    help="First and last elbow angle in degrees.",
)
sex_option = click.option(
    "--sex",
    type=click.Choice(["female", "male"]),
    help="Segment table of one sex; pooled without.",
)
lifter_option = click.option("--lifter", help="Code of one lifter.")
