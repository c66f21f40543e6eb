"""Shares of one lifter, and what the model says of pulls whoever lifts."""

from dataclasses import replace
from functools import partial

import pandas as pd

from analytics import advice
from analytics import store as stored
from analytics.advice import direct
from analytics.catalogue import Body, load_catalogue
from analytics.catalogue.pulls import load_pulls
from analytics.mechanics.pulls import checks, length, path, sharing, through
from analytics.mechanics.pulls.drawn import Arms
from app.fits import fit_key, seen
from app.state import (
    Choice,
    asking,
    cached,
    made_beside,
    named,
    read,
    ready_key,
    renew,
    stamp,
)

CURL = length.CURL
MUSCLES = load_catalogue().joints["elbow"]
LOAD_KG = 30.0  # in one hand, where nobody logged a pull


def without_share(choice: Choice) -> list[str]:
    """Name the lifter's own exercises, whose share somebody has to give."""
    return direct.without_share(_sets(choice))


def shares(
    choice: Choice, given: dict[str, float]
) -> tuple[direct.Shares, direct.Answer]:
    """Return what the chosen lifter's sets asked of the flexors, and the answer."""
    variants = load_catalogue().variants
    wanted = {
        advice.direct_movement(),
        *(variants[x].movement for x in load_pulls()),
    }
    fits = [seen(replace(choice, movement=name)) for name in sorted(wanted)]
    make = partial(
        direct.weekly_shares,
        [fit for fit in fits if fit is not None],
        _sets(choice),
        read(stored.bodies, lifter=choice.lifter),
        lifter=choice.lifter,
        given=given,
    )
    line = (asking(), choice, *sorted(given.items()))
    now = (line, stamp(), *fit_key(choice))
    key = ready_key("shares", line, now)
    if key != now:
        renew("shares", now, make)
    doing = "Working out what each set asked of the flexors"
    found = made_beside("shares", key, make, doing=doing)
    return found, direct.direct_answer(found)


def _sets(choice: Choice) -> pd.DataFrame:
    dates = {"since": choice.since, "until": choice.until}
    return read(stored.sets, lifter=choice.lifter, **dates)


def has_sets(choice: Choice) -> bool:
    """Tell whether the chosen lifter has sets in the chosen dates."""
    return len(_sets(choice)) > 0


def beside(choice: Choice) -> tuple[str, ...]:
    """Say direct sets, girth and strength beside the shares."""
    fit = seen(replace(choice, movement=advice.direct_movement()))
    none = pd.DataFrame(
        columns=["lifter", "setup", "slope_frac_per_week", "low", "high"]
    )
    bodies = read(stored.bodies, lifter=choice.lifter)
    done = advice.direct_work(
        _sets(choice),
        bodies,
        none if fit is None else fit.slopes,
        lifter=choice.lifter,
    )
    return done.can_say


def by_variant(found: direct.Shares) -> pd.DataFrame:
    """Return shares by exercise, for people."""
    return named(direct.by_variant(found))


def titles() -> dict[str, str]:
    """Return titles of the pulls by variant."""
    variants = load_catalogue().variants
    return {name: variants[name].title for name in load_pulls()}


def _body(choice: Choice) -> Body:
    if choice.lifter is None:
        return advice.measured_body(pd.DataFrame())[0]
    return advice.measured_body(read(stored.bodies, lifter=choice.lifter))[0]


def through_pull(choice: Choice, variant: str) -> tuple[pd.DataFrame, str, str]:
    """Return moments through a pull, in words, and at which load."""
    body, pull = _body(choice), load_pulls()[variant]
    arms = cached("arms", repr(body), lambda: Arms(body))
    share = load_catalogue().variants[variant].arms_share
    logged_kg = LOAD_KG * share if pull.resistance.kind != "hanging" else 0.0
    said = "an example"
    if choice.lifter is not None:
        mine = _sets(choice).query("variant == @variant")
        if len(mine):
            logged_kg = float(mine["load_kg"].iloc[-1])
            share = float(mine["arms_share"].iloc[-1])
            said = "as logged last"
    hand_kg = path.load_per_hand(
        pull, logged_kg, arms_share=share, body_mass_kg=body.mass_kg
    )
    table = through.through_pull(variant, hand_kg=hand_kg, arms=arms)
    first = through.elbow_first(variant, hand_kg=hand_kg, arms=arms)
    words = f"{hand_kg:.1f} kg in one hand, {said}. {pull.note}"
    return table, through.through_sentence(table, variant, first), words


def lengths(variant: str) -> tuple[pd.DataFrame, pd.DataFrame, pd.DataFrame, str]:
    """Return the map, ways over it, changes of length, and in words."""
    table = cached("biceps_length", None, length.length_table)
    ways = named(length.length_paths((variant,)))
    return length.length_map(), ways, named(table), through.length_sentence(table)


def shared(variant: str, load_frac: float) -> pd.DataFrame:
    """Return how muscles may share a moment, by their titles."""
    table = sharing.sharing(
        variant, muscles=MUSCLES.muscle_sets[0], load_frac=load_frac
    )
    names = dict(MUSCLES.titles)
    said = [names.get(x, x.replace("_", " ")) for x in table["muscle"]]
    return table.assign(muscle=said)


def takes_over() -> str:
    """Say whether the biggest muscle takes over."""
    return cached("takes_over", None, sharing.takes_over)


def checked() -> tuple[pd.DataFrame, str]:
    """Return measured beside predicted strength in pulls, and why no limit is shown."""
    return checks.pull_checks(), checks.why_no_limits()


def growth() -> tuple[pd.DataFrame, str]:
    """Return published growth of pulls over curls, and in words."""
    return direct.growth_evidence()
