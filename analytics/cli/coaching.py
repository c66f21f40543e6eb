"""Commands a coach asks for: the next load, a session's loads, clients side by side."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from analytics.cli.asked import code_of, variant_of
from analytics.cli.findings import fit_of, fits_of_all
from analytics.cli.options import (
    step_option,
    unit_option,
    variant_option,
    with_store,
)
from analytics.cli.printing import print_table, remark, say, warn_all
from analytics.labels import PER_CENT, typeset
from analytics.units import KG_PER_UNIT

if TYPE_CHECKING:
    import pandas as pd

    from analytics.store import Store
    from analytics.strength import StrengthFit

REPS = 8  # in a session, as on the page; common practice
STRENGTH = ("strength_kg", "low_kg", "high_kg")
SHARES = ("change_4w", "change_8w", "chance_no_gain")

rir_option = click.option(
    "--rir", type=float, default=2, show_default=True, help="Reps in reserve."
)


def _usual_step_kg(fit: StrengthFit, variant: str, unit: str | None) -> float:
    """Smallest change of load of an implement whose plates are in a unit."""
    from analytics import advice

    unit = unit or "kg"
    return advice.usual_step(fit, variant, unit=unit) * KG_PER_UNIT[unit]


def _print_loads(
    loads: pd.DataFrame, lifter: str, form: str, *, unit: str | None
) -> None:
    """Print loads; to people what they must not be used without stands below."""
    from analytics import advice
    from analytics.shown_loads import taken_away

    loads = taken_away(loads, unit or "kg")
    if form == "table":
        print_table(loads.drop(columns="caution"), form)
        own, every = advice.split_cautions(loads)
        for variant, parts in zip(loads["variant"], own, strict=True):
            say("".join(f"{variant}: {part}\n" for part in parts), nl=False)
        return say("".join(f"{part}\n" for part in every), nl=False)
    print_table(loads, form)
    unsure = loads.loc[loads["caution"].str.contains(advice.PRIOR_ONLY, regex=False)]
    warn_all([f"{lifter}, {v}: {advice.PRIOR_ONLY}" for v in unsure["variant"]])


def _warn_of_notes(store: Store, lifter: str, last_day: pd.Timestamp) -> None:
    """Say which note speaks of pain that nobody has judged yet."""
    from analytics import advice
    from analytics import store as storage

    notes = storage.pain_in_notes(store, lifter=lifter)
    if said := advice.note_sentence(notes, last_day):
        set_id = notes["set_id"].iloc[0]
        warn_all([
            f"{said}; mark it with `lacertus correct {set_id} pain=4`, which stops the "
            "load, or dismiss it with pain=0"
        ])  # fmt: skip


@click.command("next")
@click.argument("lifter")
@click.argument("variant")
@click.option("--reps", type=int, required=True, help="Repetitions.")
@rir_option
@step_option
@unit_option
@with_store
def next_load(
    lifter: str,
    variant: str,
    reps: int,
    rir: float,
    step: tuple[float | None, str],
    unit: str | None,
    store: Store,
    form: str,
) -> None:
    """Suggest the load for LIFTER's next set of VARIANT."""
    from analytics import advice
    from analytics import store as storage

    lifter, variant = code_of(store, lifter), variant_of(store, variant)
    step_kg, step_unit = step
    fit = fit_of(store, variant)
    if step_kg is None:
        step_kg = _usual_step_kg(fit, variant, unit)
    sets = storage.sets_and_pains(store, lifter=lifter)
    suggested = advice.next_load(
        fit,
        lifter,
        variant,
        sets=sets,
        reps=reps,
        rir=rir,
        step_kg=step_kg,
    )
    _print_loads(suggested, lifter, form, unit=unit)
    _warn_of_notes(store, lifter, sets["performed_on"].max())
    load_kg, unit = suggested["load_kg"].iloc[0], unit or step_unit
    remark(advice.warm_up_sentence(load_kg, step_kg=step_kg, unit=unit), form)


@click.command()
@click.argument("lifter")
@click.argument("variants", nargs=-1, required=True, metavar="VARIANT...")
@click.option("--reps", type=int, default=REPS, show_default=True, help="Repetitions.")
@rir_option
@unit_option
@with_store
def session(
    lifter: str,
    variants: tuple[str, ...],
    reps: int,
    rir: float,
    unit: str | None,
    store: Store,
    form: str,
) -> None:
    """Suggest the loads for LIFTER's next session of some VARIANTs."""
    from analytics import advice
    from analytics import store as storage

    lifter = code_of(store, lifter)
    wanted = list(dict.fromkeys(variant_of(store, text) for text in variants))
    sets = storage.sets_and_pains(store, lifter=lifter)
    exercises = [(fit_of(store, name), name) for name in wanted]
    loads = advice.session(
        exercises,
        lifter,
        sets=sets,
        reps=reps,
        rir=rir,
        steps_kg={name: _usual_step_kg(fit, name, unit) for fit, name in exercises},
    )
    _print_loads(loads, lifter, form, unit=unit)
    _warn_of_notes(store, lifter, sets["performed_on"].max())


@click.command()
@variant_option
@with_store
def clients(variant: str | None, store: Store, form: str) -> None:
    """Set clients side by side, who needs attention first."""
    from analytics import advice
    from analytics import store as storage

    variant = variant_of(store, variant)
    fits = [fit_of(store, variant)] if variant else fits_of_all(store)
    sets = storage.sets_and_pains(store)
    table = advice.attention(fits, sets, variant=variant)
    table = advice.flag_notes(table, storage.pain_in_notes(store))
    print_table(_for_people(table) if form == "table" else table, form)


def _for_people(table: pd.DataFrame) -> pd.DataFrame:
    """Give a table of clients the digits it has on the page."""
    kg = {name: table[name].map("{:.1f}".format) for name in STRENGTH}
    shares = {name: (100 * table[name]).map(PER_CENT.__mod__) for name in SHARES}
    told = {"flags": table["flags"].map(typeset)}
    return table.assign(**(kg | shares | told)).where(table.notna())


def _given(
    _ctx: click.Context, _param: click.Parameter, texts: tuple[str, ...]
) -> dict[str, float]:
    """Read shares of exercises that have none."""
    found = {}
    for text in texts:
        name, _, share = text.rpartition("=")
        try:
            found[name] = float(share)
        except ValueError as error:
            raise click.BadParameter(
                f"'{text}' is not VARIANT=SHARE, such as rope_climb=0.6"
            ) from error
    return found


@click.command()
@click.argument("lifter")
@click.option(
    "--given",
    multiple=True,
    callback=_given,
    metavar="VARIANT=SHARE",
    help="Share, 0 to 1, of an exercise of your own; again for another.",
)
@with_store
def share(lifter: str, given: dict[str, float], store: Store, form: str) -> None:
    """Give what each week's hard sets of LIFTER asked of the arms' muscles."""
    from analytics import store as storage
    from analytics.advice import direct
    from analytics.advice.rules import cautions
    from analytics.mechanics.pulls.checks import why_no_limits

    lifter = code_of(store, lifter)
    own = storage.sets(store, lifter=lifter)
    shares = direct.weekly_shares(
        fits_of_all(store),
        own,
        storage.bodies(store, lifter=lifter),
        lifter=lifter,
        given={variant_of(store, name): part for name, part in given.items()},
    )
    print_table(shares.rows, form)
    if form == "table":
        answer = direct.direct_answer(shares)
        remark("\n".join([answer.sentence, *answer.reasons, why_no_limits()]), form)
        remark("\n".join(cautions(None)), form)
    else:
        warn_all(shares.remarks())


COMMANDS = (next_load, session, clients, share)
