"""Commands that bring logs in, name exercises and keep the store."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import click

from analytics.cli.options import with_store
from analytics.cli.printing import print_rows, print_table, progress, say
from analytics.errors import FileRefusedError, StoreError

if TYPE_CHECKING:
    from analytics.store import Store


@click.command("intake")
@click.argument(
    "paths", nargs=-1, required=True, type=click.Path(path_type=Path), metavar="FILE..."
)
@click.option("--columns", type=click.Path(path_type=Path), help="A column map, TOML.")
@click.option(
    "--sheet",
    "sheets",
    multiple=True,
    help="Only this sheet of a workbook; repeatable.",
)
@click.option("--lifter", help="Code of the lifter, for files without one.")
@click.option("--unit", type=click.Choice(["kg", "lb"]), help="Unit of the loads.")
@click.option("--dates", type=click.Choice(["dmy", "mdy", "iso"]), help="Date order.")
@click.option("--try", "trial", is_flag=True, help="Read and check; store nothing.")
@with_store
def take_in(
    paths: tuple[Path, ...],
    columns: Path | None,
    sheets: tuple[str, ...],
    lifter: str | None,
    unit: str | None,
    dates: str | None,
    trial: bool,
    store: Store,
    form: str,
) -> None:
    """Read logs into the store, all or nothing per file."""
    from analytics import intake

    column_map = intake.read_column_map(columns) if columns else intake.ColumnMap()
    if sheets:
        read = {**column_map.read, "sheet": list(sheets)}
        column_map = replace(column_map, read=read)
    results: list[dict[str, object]] = []
    refused = False
    for path in paths:
        try:
            result = intake.take_in(
                store,
                path,
                column_map=column_map,
                lifter=lifter,
                unit=unit,
                dates=dates,
                trial=trial,
                on_progress=progress(path.name),
            )
        except FileRefusedError as error:
            say(f"lacertus: {error}", err=True)
            refused = True
        except StoreError as error:  # of this file; those before it are stored
            if results:
                print_rows(results, form)
            raise StoreError(f"`{path.name}`: {error}") from error
        else:
            results.append(result.row())
            for note in result.notes:
                say(f"{path.name}: {note}", err=True)
    if results:
        print_rows(results, form)
    if refused:
        raise SystemExit(FileRefusedError.exit_code)


@click.command()
@click.option("--intake", "intake_id", type=int, help="Only of this intake.")
@with_store
def rejected(intake_id: int | None, store: Store, form: str) -> None:
    """List the rows that were not taken, and why."""
    from analytics import store as storage

    print_table(storage.rejected(store, intake_id), form)


@click.command()
@click.argument("intake_id", type=int, metavar="ID")
@with_store
def undo(intake_id: int, store: Store, form: str) -> None:
    """Take back one intake: remove exactly what it added, for good."""
    from analytics import store as storage

    erased = storage.undo(store, intake_id)
    say(f"intake {intake_id} undone: {erased.rows} rows removed", err=True)
    if erased.still_held:
        say(erased.still_held, err=True)


@click.command()
@click.argument("lifter")
@with_store
def forget(lifter: str, store: Store, form: str) -> None:
    """Remove everything of LIFTER from the store, for good."""
    from analytics import store as storage

    erased = storage.forget(store, lifter)
    counts = {
        name: getattr(erased, name) for name in ("sets", "traces", "bodies", "imports")
    }
    print_rows([{"lifter": lifter, **counts}], form)
    if erased.still_held:
        say(erased.still_held, err=True)


@click.command()
@with_store
def variants(store: Store, form: str) -> None:
    """List the catalogue and how many sets each variant has."""
    from analytics import store as storage

    print_rows(storage.variant_counts(store), form)


@click.command()
@click.argument("text")
@click.argument("variant")
@click.option("--movement", help="Movement of a variant of your own.")
@with_store
def name(
    text: str, variant: str, movement: str | None, store: Store, form: str
) -> None:
    """Teach the exercise name TEXT to mean VARIANT; stored sets follow."""
    from analytics import store as storage

    if movement is None:
        variant = storage.meant_variant(store, variant) or variant
    storage.teach_name(store, text, variant, movement)
    say(f"'{text}' now means {variant}", err=True)


@click.command()
@with_store
def unnamed(store: Store, form: str) -> None:
    """List exercise names that wait for a decision."""
    from analytics import store as storage

    print_table(storage.unnamed(store), form)


@click.command()
@click.argument("file", type=click.Path(path_type=Path))
@with_store
def backup(file: Path, store: Store, form: str) -> None:
    """Copy the whole store to FILE."""
    from analytics import store as storage

    storage.backup(store, file)
    say(f"store copied to {file}", err=True)


@click.command()
@click.argument("file", type=click.Path(path_type=Path))
@with_store
def restore(file: Path, store: Store, form: str) -> None:
    """Replace the store by the backup FILE."""
    from analytics import store as storage

    storage.restore(store, file)
    say(f"store restored from {file}", err=True)


COMMANDS = (take_in, rejected, undo, forget, variants, name, unnamed, backup, restore)
