"""What a curve test draws that no log changes, in pieces to be drawn before it."""

from collections.abc import Callable
from functools import partial

from threadpoolctl import threadpool_limits

from analytics.catalogue import Setup
from analytics.evidence.candidates import PLAN_DRAWS, possible_setups
from analytics.evidence.curve import DEFAULT_DRAWS, DEFAULT_SEED
from analytics.evidence.observe import modelled_setups
from analytics.evidence.plans import hold_plan
from analytics.evidence.predictions import paired_draws, reading_sd
from analytics.strength import StrengthFit

MOST = 4  # setups of a piece, so that whoever comes meanwhile hardly waits
A_PERSON = ""  # whoever it is


def draw_ahead(fit: StrengthFit) -> list[Callable[[], None]]:
    """Give the work that the first curve tests of a movement share.

    Parameters
    ----------
    fit : StrengthFit
        Only its setups count.

    Returns
    -------
    pieces : list of callable
        Each keeps, in the process it is called in, what `curve_test` then finds.
    """
    logged, held = modelled_setups(fit), hold_plan(fit.movement)
    holds = [] if held is None else [held.base, *held.holds]
    planned = list(dict.fromkeys([*possible_setups(fit.movement), *logged, *holds]))
    every = [
        (logged, DEFAULT_DRAWS, A_PERSON),
        (planned, PLAN_DRAWS, A_PERSON),
        (logged, DEFAULT_DRAWS, None),
    ]
    return [
        partial(_draw, setups[at : at + MOST], n_draws, lifter)
        for setups, n_draws, lifter in every
        for at in range(0, len(setups), MOST)
    ]


def _draw(setups: list[Setup], n_draws: int, lifter: str | None) -> None:
    with threadpool_limits(1):
        reading_sd(setups, seed=DEFAULT_SEED)
        paired_draws(setups, setups, lifter=lifter, n_draws=n_draws, seed=DEFAULT_SEED)
