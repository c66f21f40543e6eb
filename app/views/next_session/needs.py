"""The next session, variants for a purpose, weekly work and technique of one lifter."""

from collections.abc import Callable, Hashable, Sequence
from dataclasses import replace
from functools import partial

import pandas as pd

from analytics import advice, reports
from analytics import store as stored
from analytics.catalogue import Body, load_catalogue
from analytics.strength import StrengthFit, beside_sets
from analytics.units import KG_PER_UNIT
from app.fits import fit_key, seen, session_loads, setups_of
from app.state import (
    Choice,
    cached,
    in_words,
    made_beside,
    read,
    sets,
    stamp,
    unit,
)


def exercises(choice: Choice, found: Sequence[StrengthFit]) -> dict[str, StrengthFit]:
    """Return what can be done and the fit it belongs to: own setups before others."""
    own = {name: fit for fit in found for name in setups_of(fit, choice.lifter)}
    others = {name: fit for fit in found for name in fit.setups["setup"]}
    fit = next((fit for fit in found if fit.movement == choice.movement), None)
    known = load_catalogue().variants.values()
    if fit is not None:
        modelled = [v for v in known if v.modelled and v.movement == fit.movement]
        others |= {v.variant: fit for v in modelled if v.variant not in others}
    return own | {name: fit for name, fit in others.items() if name not in own}


def last_exercises(choice: Choice, found: Sequence[StrengthFit]) -> list[str]:
    """Return the exercises of the lifter's last session."""
    sets = read(stored.sets_and_pains, lifter=choice.lifter)
    return list(advice.last_session(found, sets, choice.lifter)["setup"])


def implements(names: Sequence[str], among: dict[str, StrengthFit]) -> dict[str, str]:
    """Return what each exercise is loaded with, from the catalogue or its own name."""
    known = load_catalogue().variants
    found = {}
    for name in names:
        setups = among[name].setups.set_index("setup")["variant"]
        entry = known.get(setups.get(name, name))
        found[name] = entry.implement if entry else name
    return found


def usual_step(fit: StrengthFit, setup: str) -> float:
    """Return the smallest change of load of a setup's implement, in the unit shown."""
    return advice.usual_step(fit, setup, unit=unit())


def session(
    choice: Choice,
    chosen: dict[str, StrengthFit],
    *,
    reps: int,
    rir: float,
    steps: dict[str, float],
) -> pd.DataFrame:
    """Return the load of each chosen exercise, with its basis and caution."""
    steps_kg = {name: step * KG_PER_UNIT[unit()] for name, step in steps.items()}
    return session_loads(choice, chosen, reps=reps, rir=rir, steps_kg=steps_kg)


def session_sentence(loads: pd.DataFrame) -> str:
    """Say the loads in one line, or that there is none."""
    known = loads[loads["load_kg"].notna()]
    if known.empty:
        return "No load is suggested"
    said = [
        f"{in_words(name)} {load_kg:.4g} kg"
        for name, load_kg in zip(known["variant"], known["load_kg"], strict=True)
    ]
    reps, rir = known.iloc[0][["reps", "rir"]]
    return f"{', '.join(said)} for {reps:g} repetitions, {rir:g} in reserve"


def warm_ups(loads: pd.DataFrame, steps: dict[str, float]) -> list[str]:
    """Say the steps before the first working set of each exercise."""
    return [
        f"{in_words(row.variant)}: "
        + advice.warm_up_sentence(
            row.load_kg,
            step_kg=steps[row.variant] * KG_PER_UNIT[unit()],
            unit=unit(),
        )
        for row in loads.itertuples()
        if row.load_kg > 0
    ]


def sheet(choice: Choice, loads: pd.DataFrame, kind: str) -> bytes:
    """Return the session on one sheet to print, HTML or PDF."""
    page = reports.session_html(loads, choice.lifter, unit=unit())
    return page.encode() if kind == "html" else reports.pdf_of(page)


def facts_of(
    fit: StrengthFit, body: Body
) -> tuple[Hashable, Callable[[], pd.DataFrame]]:
    """Return how what each exercise asks of a body is worked out, and its key."""
    reference = advice.modelled_reference(fit)
    names = list(load_catalogue().modelled_in(fit.movement))
    make = partial(advice.variant_facts, names, body=body, reference=reference)
    return (repr(body), reference, *names), make


def ranking(choice: Choice, fit: StrengthFit, goal: str) -> pd.DataFrame:
    """Return variants for one goal, the best first, with reasons in words."""
    body, _ = body_of(choice)
    key, work = facts_of(fit, body)
    doing = "Working out what each exercise asks"
    facts = made_beside("variant_facts", key, work, doing=doing)

    def make() -> pd.DataFrame:
        return advice.rank_variants(goal, fit=fit, lifter=choice.lifter, facts=facts)

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
    """Return logged lean, cheating and stance against load, each set as logged."""

    def make() -> advice.Technique:
        own = sets(choice, lifter=choice.lifter)
        bodies = read(stored.bodies, lifter=choice.lifter)
        found = advice.technique(own, fit.trend, lifter=choice.lifter, bodies=bodies)
        return replace(found, sets=beside_sets(found.sets, own))

    return cached("technique", (*fit_key(choice), choice.lifter, stamp()), make)


def lockout(choice: Choice, fit: StrengthFit) -> tuple[pd.DataFrame, tuple[str, ...]]:
    """Return the lift with and without lockout, in numbers and in words."""

    def make() -> tuple[pd.DataFrame, tuple[str, ...]]:
        body, _ = body_of(choice)
        return advice.lockout(choice.movement, fit=fit, lifter=choice.lifter, body=body)

    return cached("lockout", (*fit_key(choice), choice.lifter, stamp()), make)
