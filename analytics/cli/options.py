"""What all commands share: errors in one line, and options."""

from __future__ import annotations

import os
from collections.abc import Callable
from datetime import date, datetime, timedelta
from functools import partial
from pathlib import Path
from types import ModuleType
from typing import TYPE_CHECKING, Any

import click

from analytics.cli.printing import say
from analytics.errors import AnalyticsError, InputError
from analytics.units import KG_PER_UNIT

if TYPE_CHECKING:
    from analytics.store import Store

Command = Callable[..., None]
FORMS = ("table", "csv", "json")


class OneLineErrors(click.Group):
    """Turns the library's own errors into one line and the contract's exit code."""

    def main(self, *args: Any, **kwargs: Any) -> Any:
        """Take arguments as they are: on Windows too no path is a pattern."""
        return super().main(*args, **{**kwargs, "windows_expand_args": False})

    def invoke(self, ctx: click.Context) -> Any:
        """Run the command; our own errors end it in one line."""
        try:
            return super().invoke(ctx)
        except AnalyticsError as error:
            say(f"lacertus: {error}", err=True)
            ctx.exit(error.exit_code)
        except click.UsageError as error:
            command = error.ctx.command_path if error.ctx else ctx.command_path
            message = error.format_message().rstrip(".")
            say(f"lacertus: {message}; see {command} --help", err=True)
            ctx.exit(error.exit_code)


def _store(_ctx: click.Context, _param: click.Parameter, path: Path) -> Store:
    from analytics.store import Store, asking_of

    store = Store(
        path, on_wait=partial(say, "the store is being written to; waiting", err=True)
    )
    address = os.environ.get("LACERTUS_PERSON")
    return store.asked_by(asking_of(store, address)) if address is not None else store


def cohort_stage() -> ModuleType:
    """Give the stage of cohorts, whose libraries are an extra."""
    try:
        from analytics import cohort
    except ImportError as error:
        raise InputError(
            f"{error.name} is missing; first: pip install 'lacertus[cohort]'"
        ) from error
    return cohort


def with_store(command: Command) -> Command:
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
        type=click.Path(dir_okay=False, readable=False, path_type=Path),
        callback=_store,
        help="The store file; also LACERTUS_STORE.",
    )(command)


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
    _ctx: click.Context, _param: click.Parameter, text: str | None
) -> tuple[float | None, str]:
    """Read a step of load: in kilograms, and the unit it was given in."""
    if text is None:
        return None, "kg"
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
    callback=_load_step,
    metavar="KG",
    help="Smallest change of load the equipment allows, 5lb for pounds; without it "
    "2.5 on a bar, 2 for dumbbells, 5 on a stack.",
)
unit_option = click.option(
    "--unit",
    type=click.Choice(["kg", "lb"]),
    help="Unit of all loads shown, and of the steps of plates; kg without it.",
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
lifter_option = click.option("--lifter", help="Code of one lifter, in any case.")
variant_option = click.option("--variant", help="Only this variant, by any name.")


def _of_a_log(
    _ctx: click.Context, _param: click.Parameter, day: datetime | None
) -> datetime | None:
    """Refuse a day that no log can be about, or nobody can look ahead to."""
    from analytics.store.limits import FIRST_DAY

    last = date.today() + timedelta(days=365)
    if day is not None and not FIRST_DAY <= day.date() <= last:
        raise click.BadParameter(f"{day:%Y-%m-%d} is not from {FIRST_DAY} to {last}")
    return day


def day_option(flag: str, name: str, words: str) -> Callable[[Command], Command]:
    """Give a command an option that is a day."""
    kind = click.DateTime(["%Y-%m-%d"])
    return click.option(flag, name, type=kind, callback=_of_a_log, help=words)
