"""Commands that say what the log holds: strength, ratios, the curve test, loads."""

from __future__ import annotations

import json
from collections.abc import Iterator
from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING

import click

from analytics.cli.options import lifter_option, step_option, with_store
from analytics.cli.printing import print_table, progress, remark, say, warn_all
from analytics.errors import InputError

if TYPE_CHECKING:
    from analytics.store import Store
    from analytics.strength import StrengthFit


def _fits(store: Store) -> Iterator[StrengthFit]:
    """One fit for each movement that has sets."""
    from analytics import store as storage
    from analytics import strength

    for movement in storage.movements(store).query("sets > 0")["movement"]:
        yield strength.fitted(store, movement, on_progress=progress(movement))


def _fit_of(store: Store, variant: str | None) -> StrengthFit:
    """Fit the movement a variant belongs to; the main one without a variant."""
    from analytics import store as storage
    from analytics import strength
    from analytics.catalogue import main_movement

    known = storage.variants(store).set_index("variant")["movement"]
    if variant is None:
        counts = storage.movements(store).set_index("movement")["sets"]
        movement = main_movement(counts.to_dict())
    elif variant in known.index:
        movement = str(known[variant])
    else:
        raise InputError(f"no variant '{variant}'; there are: {', '.join(known.index)}")
    return strength.fitted(store, movement, on_progress=progress(movement))


def check_lifter(store: Store, lifter: str | None) -> None:
    """Refuse a code the store does not know."""
    from analytics import store as storage

    known = storage.lifters(store)["lifter"].tolist()
    if lifter is not None and lifter not in known:
        raise InputError(
            f"no lifter '{lifter}'; there are: {', '.join(known) or 'none yet'}"
        )


def _of_a_log(
    _ctx: click.Context, _param: click.Parameter, day: datetime | None
) -> datetime | None:
    """Refuse a day that no log can be about, or nobody can look ahead to."""
    from analytics.store.limits import FIRST_DAY

    last = date.today() + timedelta(days=365)
    if day is not None and not FIRST_DAY <= day.date() <= last:
        raise click.BadParameter(f"{day:%Y-%m-%d} is not from {FIRST_DAY} to {last}")
    return day


@click.command("strength")
@lifter_option
@click.option("--variant", help="Only this variant.")
@click.option(
    "--on",
    "on_date",
    type=click.DateTime(["%Y-%m-%d"]),
    callback=_of_a_log,
    help="Only this day.",
)
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

    check_lifter(store, lifter)
    fits = list([_fit_of(store, variant)] if variant else _fits(store))
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

    check_lifter(store, lifter)
    if reference:
        movement = _fit_of(store, reference).movement
        fits = [strength.fitted(store, movement, reference=reference)]
    else:
        fits = list(_fits(store)) or [_fit_of(store, None)]
    found = [evidence.ratio_table(fit, lifter=lifter) for fit in fits]
    print_table(pd.concat(found), form)


@click.command()
@lifter_option
@with_store
def fit(lifter: str | None, store: Store, form: str) -> None:
    """Test whether the log fits the modelled curve; prints JSON."""
    from analytics import evidence

    check_lifter(store, lifter)
    test = evidence.curve_test(_fit_of(store, None), lifter=lifter)
    say(json.dumps(test.as_dict(), indent=2, ensure_ascii=False))


@click.command("next")
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
    step: tuple[float | None, str],
    store: Store,
    form: str,
) -> None:
    """Suggest the load for LIFTER's next set of VARIANT."""
    from analytics import advice
    from analytics import store as storage

    check_lifter(store, lifter)
    step_kg, unit = step
    fit = _fit_of(store, variant)
    suggested = advice.next_load(
        fit,
        lifter,
        variant,
        sets=storage.sets_and_pains(store, lifter=lifter),
        reps=reps,
        rir=rir,
        step_kg=step_kg,
    )
    print_table(suggested, form)
    row = suggested.iloc[0]
    if advice.PRIOR_ONLY in row["caution"]:
        warn_all([f"{lifter}, {variant}: {advice.PRIOR_ONLY}"])
    step_kg = step_kg or advice.usual_step_kg(fit, variant)
    said = advice.warm_up_sentence(row["load_kg"], step_kg=step_kg, unit=unit)
    remark(said, form)


COMMANDS = (strength_over_time, ratios, fit, next_load)
