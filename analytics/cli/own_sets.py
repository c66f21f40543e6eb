"""Commands about the sets themselves: list or take them away, correct one."""

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING

import click

from analytics.cli.asked import code_of, variant_of
from analytics.cli.options import day_option, lifter_option, variant_option, with_store
from analytics.cli.printing import print_table, say
from analytics.errors import InputError

if TYPE_CHECKING:
    import pandas as pd

    from analytics.store import Store


@click.command()
@lifter_option
@variant_option
@day_option("--from", "since", "First day.")
@day_option("--to", "until", "Last day.")
@with_store
def sets(
    lifter: str | None,
    variant: str | None,
    since: datetime | None,
    until: datetime | None,
    store: Store,
    form: str,
) -> None:
    """List sets as logged; with --as csv or json, all that was logged of them."""
    from analytics import store as storage

    if since and until and since > until:
        raise InputError(
            f"--from {since:%Y-%m-%d} is after --to {until:%Y-%m-%d}; turn them round"
        )
    table = storage.logged(
        store,
        lifter=code_of(store, lifter),
        variant=variant_of(store, variant),
        since=since,
        until=until,
    )
    print_table(_looked_at(table) if form == "table" else table, form)


def _looked_at(table: pd.DataFrame) -> pd.DataFrame:
    """Return what people look at; programs read the same columns every time.

    Per hand is how dumbbells are counted anyway, and says nothing of a bar.
    """
    said = [str(load).removesuffix(" per hand") for load in table["load"]]
    shown = table.assign(load=said).drop(columns="load_counts")
    return shown.dropna(axis=1, how="all")


@click.command()
@click.argument("set_id", metavar="SET_ID")
@click.argument("fields", nargs=-1, metavar="[FIELD=VALUE]...")
@click.option("--undo", "taken_back", is_flag=True, help="Undo the last correction.")
@with_store
def correct(
    set_id: str, fields: tuple[str, ...], taken_back: bool, store: Store, form: str
) -> None:
    """Correct fields of one set, as `sets` lists them; prints its history.

    pain=over says that the lifter's pain is over up to the day of this set.
    """
    from analytics import intake
    from analytics import store as storage

    if taken_back == bool(fields):
        raise InputError("give either FIELD=VALUE, such as load=22.5, or --undo")
    if taken_back:
        storage.undo_edit(store, set_id)
    elif fields == ("pain=over",):
        told = storage.logged(store)
        told = told[told["set_id"] == set_id.lower()]
        if told.empty:
            raise InputError(f"no set `{set_id}`; `lacertus sets` lists them")
        lifter, until = told.iloc[0][["lifter", "performed_on"]]
        storage.end_pain(store, lifter, until.date())
        say(f"pain of {lifter} up to {until:%Y-%m-%d} is over", err=True)
    else:
        changes = [intake.read_correction(field) for field in fields]
        if len(dict(changes)) < len(changes):
            raise InputError("a field is given twice; give each once")
        storage.edit_set(store, set_id, **dict(changes))
    told = storage.history(store, set_id)
    print_table(told.replace({"column": {"name_key": "exercise"}}), form)


COMMANDS = (sets, correct)
