"""What each set says about strength, how exactly, and what that hangs on.

The load is set and the repetitions happen: the load is exact, the repetitions that
could have been done are the noisy outcome (:mod:`.relation` gives both their errors).
"""

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analytics.strength.core.censored import shortfall_component, tilt
from analytics.strength.model.relation import (
    gain_slopes,
    log_gain,
    priors,
)
from analytics.strength.model.tempo import at_usual_tempo

Floats = NDArray[np.float64]

TYPICAL_REPS = 10.0  # where an error in repetitions is turned into log strength, for
# all sets alike: a set must not count more or less for the repetitions it came to
EXACT, UNKNOWN = 1e-6, 1e6  # variances, in repetitions squared
FEWEST_CALLED = 5  # marked sets from which a lifter's habit is taken for unmarked ones


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Outcomes:
    """Sets as measurements of log strength, at given parameters of the relation.

    Attributes
    ----------
    implied : ndarray, shape (n_sets,)
        Log strength the set implies.
    variance : ndarray, shape (n_sets,)
        Of its chance error, with the lifter's good or bad day left out.
    slopes : ndarray, shape (n_sets, n_parameters)
        Change of ``implied`` with each of ``relation.PARAMETERS``.
    repetitions : ndarray, shape (n_sets,)
        That could have been done by the lifter when fresh, at the usual tempo.
    """

    implied: Floats
    variance: Floats
    slopes: Floats
    repetitions: Floats

    def take(self, kept: NDArray[np.bool_]) -> "Outcomes":
        """Keep some of the sets."""
        return Outcomes(
            implied=self.implied[kept],
            variance=self.variance[kept],
            slopes=self.slopes[kept],
            repetitions=self.repetitions[kept],
        )


def prior_mean(ln_k: Floats) -> Floats:
    """Return published means of the parameters of each set, shape (n_sets, n)."""
    reserve, reps = priors("reserve"), priors("repetitions")
    rest = [0.0, reserve["bias_mean"], 0.0, reps["tired_mean"], reps["counted_mean"]]
    rest.append(priors("tempo")["exponent_mean"])
    return np.column_stack([ln_k, np.tile(rest, (len(ln_k), 1))])


def habit(sets: pd.DataFrame) -> Floats:
    """Mean reserve of each set's lifter where it was told, else the published one.

    Parameters
    ----------
    sets : DataFrame
        Of :class:`.observe.Observations`.

    Returns
    -------
    habit : ndarray, shape (n_sets,)
        What unmarked sets are expected to leave. [repetitions]
    """
    called = sets["rir"].where(sets["kind"].isin(["rir", "far"]))
    by_lifter = called.groupby(sets["lifter"])
    known = by_lifter.transform("count") >= FEWEST_CALLED
    published = priors("reserve")["unmarked_mean"]
    return by_lifter.transform("mean").where(known, published).to_numpy(float)


def tiredness(sets: pd.DataFrame) -> Floats:
    """Count what other sets of the exercise that day cost, in sets to failure.

    Parameters
    ----------
    sets : DataFrame
        Of :class:`.observe.Observations`.

    Returns
    -------
    tiredness : ndarray, shape (n_sets,)
        Of the average set of that day; 0 where there is one. [1]

    Notes
    -----
    Logs do not always keep the order of sets, so all of a day share the mean of first
    to last. Most is lost after the first set (``tired_source``), so n sets before cost
    n c / (1 + n c / 2), where c is the lifter's usual one: counted from what just those
    sets left, a bad set would explain the better one beside it.
    """
    failed = sets["kind"].isin(["failure", "below"])
    cost = failed + ~failed * priors("repetitions")["tired_unfailed"]
    usual = cost.groupby([sets["lifter"], sets["setup"]]).transform("mean")
    # A load that did not move must not make strength look larger for having tired.
    lifted = (sets["kind"] != "below").astype(float)
    cell = sets.groupby(["lifter", "date", "setup", "side"], sort=False).ngroup()
    before = usual * (lifted.groupby(cell).cumsum() - lifted)
    each = (before / (1 + before / 2)).where(lifted > 0)
    return each.groupby(cell).transform("mean").fillna(0.0).to_numpy(float)


def outcomes(
    sets: pd.DataFrame, parameters: Floats, *, tired: Floats, usual: Floats
) -> Outcomes:
    r"""Turn sets into measurements of log strength.

    Parameters
    ----------
    sets : DataFrame
        Of :class:`.observe.Observations`.
    parameters : ndarray, shape (n_sets, n_parameters)
        Those of ``relation.PARAMETERS`` for each set.
    tired, usual : ndarray, shape (n_sets,)
        From :func:`tiredness` and :func:`habit`.

    Returns
    -------
    outcomes : Outcomes

    Notes
    -----
    .. math:: y = \log w + g(R), \qquad
        R = 1 + ((r + reserve) e^{\varphi n} - 1) e^{\gamma x}

    with r the repetitions done, n the tiredness and x the slowness of a logged tempo,
    0 without one. What an unmarked set leaves, and what one called far from failure
    leaves unsaid, is a normal truncated at 0.
    """
    ln_k, shape, bias, unmarked, phi, counted, tempo = parameters.T
    reserve, reps = priors("reserve"), priors("repetitions")
    kind = sets["kind"].to_numpy(str)
    failed = np.isin(kind, ["failure", "below"])
    called, far = np.isin(kind, ["rir", "far"]), kind == "far"
    silent = ~failed & ~called
    done = sets["reps"].to_numpy(float)
    told = np.where(called, sets["rir"].to_numpy(float), 0.0)
    beyond = np.maximum(done + told - reserve["long_set_from"], 0.0)
    long = reserve["long_set_bias"] * np.minimum(beyond, told)
    rep = gain_slopes(TYPICAL_REPS, ln_k)[0]
    left, left_sd = at_least_none(*unsaid(kind, told, usual + unmarked))
    now = done + told + np.where(failed, counted, 0.0)
    now += np.where(called, bias + long, 0.0) + np.where(far | silent, left, 0.0)
    rested = np.maximum(now, 1.0) * np.exp(phi * tired)
    slowness = sets["slowness"].to_numpy(float)
    fresh = at_usual_tempo(rested, tempo * slowness)
    by_fresh, by_ln_k, by_shape = gain_slopes(fresh, ln_k, shape)
    by_rested = by_fresh * np.exp(tempo * slowness)
    by_now = by_rested * np.exp(phi * tired)
    # Anywhere in an interval that was called is as likely: a uniform's SD.
    half = sets["rir_half"].fillna(0.0).to_numpy(float)
    called_sd = np.hypot(reserve["within_sd"], half / np.sqrt(3))
    own_sd = np.select([silent, called], [left_sd, called_sd], 0.0)
    slopes = [by_ln_k, by_shape, by_now * called, by_now * silent]
    slopes += [by_rested * rested * tired, by_now * failed]
    slopes.append(by_fresh * (fresh - 1) * slowness)
    return Outcomes(
        implied=sets["log_load"].to_numpy(float) + log_gain(fresh, ln_k, shape),
        variance=reps["luck_log_sd"] ** 2 + (rep * own_sd) ** 2,
        slopes=np.column_stack(slopes),
        repetitions=fresh,
    )


def unsaid(
    kind: NDArray[np.str_], told: Floats, usual: Floats
) -> tuple[Floats, Floats]:
    """Reserve beyond what was told, a normal before it is truncated at 0.

    Parameters
    ----------
    kind : ndarray of str, shape (n_sets,)
    told : ndarray, shape (n_sets,)
        Reserve called. [repetitions]
    usual : ndarray, shape (n_sets,)
        Reserve expected of a set without mark. [repetitions]

    Returns
    -------
    mean, sd : ndarray, shape (n_sets,)
        Of use for unmarked sets and for those called far from failure. [repetitions]
    """
    known, far = priors("reserve"), kind == "far"
    mean = np.where(far, known["far_mean_per_called"] * told, usual)
    sd = np.where(far, known["far_sd_per_called"] * told, known["unmarked_within_sd"])
    return mean, sd


def at_least_none(mean: Floats, sd: Floats) -> tuple[Floats, Floats]:
    """Mean and SD of a normal reserve that is known not to be negative.

    Parameters
    ----------
    mean, sd : ndarray, shape (n,)
        Before it is truncated at 0. [repetitions]

    Returns
    -------
    mean, sd : ndarray, shape (n,)
        The stochastic frontier's shortfall, seen beside no other set. [repetitions]
    """
    nothing = np.zeros_like(mean)
    alone = shortfall_component(
        0.0,
        nothing,
        noise_variance=np.full_like(mean, EXACT),
        shortfall_mean=mean,
        shortfall_sd=sd,
    )
    found = tilt(nothing, np.full_like(mean, UNKNOWN), [alone])
    return found.mean, np.sqrt(found.variance)
