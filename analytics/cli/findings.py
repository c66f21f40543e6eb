"""Commands that say what the log holds: strength, ratios, the curve test, loads."""

from __future__ import annotations

import json
from collections.abc import Iterator
from datetime import datetime
from typing import TYPE_CHECKING

import click

from analytics.cli.asked import code_of, variant_of
from analytics.cli.options import day_option, lifter_option, with_store
from analytics.cli.printing import print_table, progress, remark, say, warn_all

if TYPE_CHECKING:
    from analytics.store import Store
    from analytics.strength import StrengthFit


def fits_of_all(store: Store) -> Iterator[StrengthFit]:
    """One fit for each movement that has sets."""
    from analytics import store as storage
    from analytics import strength

    for movement in storage.movements(store).query("sets > 0")["movement"]:
        yield strength.fitted(store, movement, on_progress=progress(movement))


def fit_of(store: Store, variant: str | None) -> StrengthFit:
    """Fit the movement a variant belongs to; the main one without a variant."""
    from analytics import store as storage
    from analytics import strength
    from analytics.catalogue import main_movement

    if variant is None:
        counts = storage.movements(store).set_index("movement")["sets"]
        movement = main_movement(counts.to_dict())
    else:
        known = storage.variants(store).set_index("variant")["movement"]
        movement = str(known[variant])
    return strength.fitted(store, movement, on_progress=progress(movement))


@click.command("strength")
@lifter_option
@click.option("--variant", help="Only this variant.")
@day_option("--on", "on_date", "Only this day.")
@click.option(
    "--reps",
    type=click.IntRange(1, 30),
    default=1,
    show_default=True,
    help="Repetitions the load can be lifted for.",
)
@with_store
def strength_over_time(
    lifter: str | None,
    variant: str | None,
    on_date: datetime | None,
    reps: int,
    store: Store,
    form: str,
) -> None:
    """Estimate strength over time, with 90 % intervals."""
    from analytics import advice, strength

    lifter, variant = code_of(store, lifter), variant_of(store, variant)
    fits = list([fit_of(store, variant)] if variant else fits_of_all(store))
    table = strength.over_time(
        fits, lifter=lifter, variant=variant, on=on_date, reps=reps
    )
    print_table(table, form)
    shown = table[["lifter", "variant"]].drop_duplicates()
    for fit in fits:
        warn_all(advice.doubts(fit, shown))
        if lifter:
            for sentence in advice.changes(fit, shown):
                remark(sentence, form)


@click.command()
@click.option("--reference", help="Variant the others are set against.")
@lifter_option
@with_store
def ratios(reference: str | None, lifter: str | None, store: Store, form: str) -> None:
    """Compare variants per working arm: ratios as logged and as modelled."""
    import pandas as pd

    from analytics import evidence, strength

    lifter, reference = code_of(store, lifter), variant_of(store, reference)
    if reference:
        movement = fit_of(store, reference).movement
        fits = [strength.fitted(store, movement, reference=reference)]
    else:
        fits = list(fits_of_all(store)) or [fit_of(store, None)]
    found = [evidence.ratio_table(fit, lifter=lifter) for fit in fits]
    print_table(pd.concat(found), form)


@click.command()
@lifter_option
@with_store
def fit(lifter: str | None, store: Store, form: str) -> None:
    """Test whether the log fits the modelled curve; prints JSON."""
    from analytics import evidence

    lifter = code_of(store, lifter)
    test = evidence.curve_test(fit_of(store, None), lifter=lifter)
    say(json.dumps(test.as_dict(), indent=2, ensure_ascii=False))


COMMANDS = (strength_over_time, ratios, fit)
