"""Commands about the people of a shared server: who may ask for what, who did what."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from analytics.cli.options import with_store
from analytics.cli.printing import print_table, say

if TYPE_CHECKING:
    from analytics.store import Store


@click.group()
def person() -> None:
    """Who may sign in on a shared server; each command takes --store and --as."""


@person.command()
@click.argument("address")
@click.option(
    "--role",
    required=True,
    type=click.Choice(["lifter", "coach", "researcher", "owner"]),
    help="What they may ask for.",
)
@click.option(
    "--lifter",
    "lifters",
    multiple=True,
    help="Own code of a lifter; each one assigned to a coach, repeatable.",
)
@with_store
def add(
    address: str, role: str, lifters: tuple[str, ...], store: Store, form: str
) -> None:
    """Let ADDRESS sign in, or change what it may ask for."""
    from analytics import store as storage

    storage.add_person(store, address, role, lifters)
    say(f"{address} may sign in as {role}", err=True)


@person.command("list")
@with_store
def list_people(store: Store, form: str) -> None:
    """List who may sign in."""
    from analytics import store as storage

    rows = storage.people(store)
    print_table(rows.assign(lifters=rows["lifters"].map(" ".join)), form)


@person.command()
@click.argument("address")
@with_store
def remove(address: str, store: Store, form: str) -> None:
    """Let ADDRESS sign in no more; what it has open ends with the next click."""
    from analytics import store as storage

    storage.remove_person(store, address)
    say(f"{address} may sign in no more", err=True)


@click.command()
@click.argument("lifter")
@click.option("--undo", "given", is_flag=True, help="Research may use it again.")
@with_store
def withhold(lifter: str, given: bool, store: Store, form: str) -> None:
    """Keep the log of LIFTER out of research tables and what other lifters see."""
    from analytics import store as storage

    code = storage.find_lifter(store, lifter)
    storage.withhold(store, code, not given)
    say(f"{code}: {'open to' if given else 'withheld from'} research", err=True)


@click.command()
@with_store
def record(store: Store, form: str) -> None:
    """List who brought in, corrected, undid, removed and released what."""
    from analytics import store as storage

    print_table(storage.record(store), form)


COMMANDS = (person, withhold, record)
