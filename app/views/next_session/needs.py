"""Next loads, variants for a purpose, weekly work and technique of one lifter."""

from dataclasses import replace

import pandas as pd

from analytics import advice
from analytics import store as stored
from analytics.catalogue import Body, load_catalogue
from analytics.strength import StrengthFit
from app.fits import fit_key, seen, setups_of
from app.state import (
    Choice,
    cached,
    in_words,
    read,
    sets,
    stamp,
)


def setup_titles(fit: StrengthFit, lifter: str) -> dict[str, str]:
    """Return own setups, then others' and variants never trained, by their titles."""
    known = load_catalogue().variants.values()
    untrained = [v.variant for v in known if v.modelled and v.movement == fit.movement]
    names = [*setups_of(fit, lifter), *fit.setups["setup"], *untrained]
    return {name: in_words(name) for name in names}


def next_load(
    fit: StrengthFit,
    choice: Choice,
    setup: str,
    *,
    reps: int,
    rir: float,
    step_kg: float,
) -> pd.DataFrame:
    """Return the load for the next set, with its basis and caution."""
    return advice.next_load(
        fit,
        choice.lifter,
        setup,
        sets=read(stored.sets_and_pains, lifter=choice.lifter),
        reps=reps,
        rir=rir,
        step_kg=step_kg,
    )


def usual_step_kg(fit: StrengthFit, setup: str) -> float:
    """Return the smallest change of load of a setup's implement."""
    return advice.usual_step_kg(fit, setup)


def load_sentence(row: pd.Series) -> str:
    """Say the load with its interval, or that there is none."""
    if pd.isna(row["load_kg"]):
        return "No load is suggested"
    return (
        f"{row['load_kg']:g} kg for {row['reps']:g} repetitions, {row['rir']:g} in "
        f"reserve; the log gives {row['low_kg']:.1f} to {row['high_kg']:.1f} kg "
        "(90 % interval)"
    )


def ranking(choice: Choice, fit: StrengthFit, goal: str) -> pd.DataFrame:
    """Return variants for one goal, the best first, with reasons in words."""
    body, _ = body_of(choice)
    reference = advice.modelled_reference(fit)

    def facts() -> pd.DataFrame:
        names = list(load_catalogue().modelled)
        return advice.variant_facts(names, body=body, reference=reference)

    def make() -> pd.DataFrame:
        known = cached("variant_facts", (repr(body), reference), facts)
        return advice.rank_variants(goal, fit=fit, lifter=choice.lifter, facts=known)

    return cached("ranking", (*fit_key(choice), choice.lifter, goal, stamp()), make)


def body_of(choice: Choice) -> tuple[Body, str]:
    """Return the chosen lifter's body as last measured, and its size in words."""
    return advice.measured_body(read(stored.bodies, lifter=choice.lifter))


def work(choice: Choice, fit: StrengthFit) -> advice.DirectWork:
    """Return weekly direct and indirect work beside girth and strength."""
    direct = advice.direct_movement()
    if choice.movement != direct:
        other = seen(replace(choice, movement=direct))
        slopes = fit.slopes.head(0) if other is None else other.slopes
    else:
        slopes = fit.slopes

    def make() -> advice.DirectWork:
        own = read(
            stored.sets, lifter=choice.lifter, since=choice.since, until=choice.until
        )
        bodies = read(stored.bodies, lifter=choice.lifter)
        return advice.direct_work(own, bodies, slopes, lifter=choice.lifter)

    return cached("work", (*fit_key(choice), choice.lifter, stamp()), make)


def direct_each() -> str:
    """Return what one exercise of the direct movement is called."""
    movement = load_catalogue().movements[advice.direct_movement()]
    return movement.each or movement.title.lower()


def technique(choice: Choice, fit: StrengthFit) -> advice.Technique:
    """Return logged lean, cheating and stance against load."""

    def make() -> advice.Technique:
        own = sets(choice, lifter=choice.lifter)
        bodies = read(stored.bodies, lifter=choice.lifter)
        return advice.technique(own, fit.trend, lifter=choice.lifter, bodies=bodies)

    return cached("technique", (*fit_key(choice), choice.lifter, stamp()), make)


def lockout(choice: Choice, fit: StrengthFit) -> tuple[pd.DataFrame, tuple[str, ...]]:
    """Return the lift with and without lockout, in numbers and in words."""

    def make() -> tuple[pd.DataFrame, tuple[str, ...]]:
        body, _ = body_of(choice)
        return advice.lockout(choice.movement, fit=fit, lifter=choice.lifter, body=body)

    return cached("lockout", (*fit_key(choice), choice.lifter, stamp()), make)
