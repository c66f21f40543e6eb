"""The strength of three lifters by a general sampler, beside that of the fit.

The model of the method page as one log density, written from its sentences and from
the published table alone: level and walk in closed form, whatever bends it sampled
(emcee: Foreman-Mackey et al. 2013, affine-invariant ensembles). A level has no slope:
gains are told afterwards from the levels. One setup; ratios and one-sided sets have
checks of their own.
"""

from dataclasses import dataclass

import emcee
import numpy as np
import pandas as pd
import pytest
from strength_logs import log, together

from analytics.strength import fit_strength
from analytics.strength.model.relation import priors

pytestmark = [pytest.mark.slow, pytest.mark.external]

RELATION, RESERVE, REPS, KNOWN = (
    priors(part) for part in ("relation", "reserve", "repetitions", "strength")
)
WEEKS = np.arange(24) * 4.0 / 7
A_REP = 1 / 39.0  # of strength, at ten repetitions of K = 30
WIDE = 3.0  # of log strength: flat
BENDS = {  # mean, SD between people, SD of cohorts; 0.33 and K = 30 are the curl's
    "ln_k": (np.log(30.0), RELATION["ln_k_person"], 0.33),
    "shape": (0.0, RELATION["shape_person"], RELATION["shape_common"]),
    "counted": (REPS["counted_mean"], REPS["counted_sd"] / 3, REPS["counted_sd"]),
    "bias": tuple(RESERVE[f"bias_{x}"] for x in ("mean", "person_sd", "common_sd")),
}
LOWEST, HIGHEST = np.log([1.0, 0.5]), np.log([2.4, 2.8])  # scales of noise and walk
WALKERS, STEPS = 64, 4000


def gain(reps, ln_k, shape):
    """Log of the maximum over a load that goes so many times."""
    reps = np.maximum(reps, 1.0)
    return np.log1p((reps - 1) / np.exp(ln_k + shape * np.log(reps / 8)))


@dataclass(frozen=True)
class Lifter:
    """What one wrote down: sets to failure, or each with two called to be left."""

    name: str
    load: np.ndarray
    reps: np.ndarray
    failed: bool

    def sets(self):
        told = {"failed": self.failed, "rir": np.nan if self.failed else 2.0}
        return log(WEEKS * 7, self.reps, self.load, lifter=self.name, **told)

    def shows(self, of):
        """Log strength each set shows, and the log density of its repetitions."""
        more = of["counted"] if self.failed else 2.0 + of["bias"]
        fresh, step = self.reps + more, 1e-4
        low, high = (gain(fresh + d, of["ln_k"], of["shape"]) for d in (-step, step))
        rise = np.maximum((high - low) / (2 * step), 1e-12)
        return np.log(self.load) + (low + high) / 2, np.log(rise).sum(axis=1)

    def variance(self):
        call = 0.0 if self.failed else (RESERVE["within_sd"] * A_REP) ** 2
        return REPS["luck_log_sd"] ** 2 + KNOWN["day_sd"] ** 2 + call


def trained(name, rng, *, k, planned, failed):
    """Somebody whose strength walks and gains, and who has good and bad days."""
    steps = rng.normal(0, KNOWN["walk_sd"] * np.sqrt(4 / 7), 24)
    shown = np.log(40) + 0.002 * WEEKS + np.cumsum(steps) + rng.normal(0, 0.033, 24)
    load = np.round(40 * np.exp(-gain(planned, np.log(k), 0.0)) * 2) / 2
    possible = 1 + k * np.expm1(shown - np.log(load))
    reps = np.floor(possible) if failed else np.round(possible - 2.6)
    return Lifter(name, load, np.maximum(reps, 1), failed)


def lifters():
    """One at one load, one at clear contrasts, one who calls."""
    rng = np.random.default_rng(11)
    plan = np.full(24, 8.0)
    return [
        trained("A", rng, k=32.0, planned=plan, failed=True),
        trained("B", rng, k=25.0, planned=np.tile([3.0, 11.0], 12), failed=True),
        trained("C", rng, k=30.0, planned=plan, failed=False),
    ]


def bends(theta):
    """Parameters of the relation by name, of each lifter, from standard normals."""
    out = {}
    for i, (part, (mean, person, cohort)) in enumerate(BENDS.items()):
        own = RELATION["ln_k_person_exercise"] if part == "ln_k" else 0.0
        cov = cohort**2 + np.eye(3) * (person**2 + own**2)
        out[part] = mean + theta[:, 3 * i : 3 * i + 3] @ np.linalg.cholesky(cov).T
    return out


def of_lifter(one, theta, i):
    """Log likelihood, and mean and variance of the level of the last day."""
    y, density = one.shows({part: x[:, [i]] for part, x in bends(theta).items()})
    noise, walk = (np.exp(2 * x)[:, None, None] for x in theta[:, -2:].T)
    level = walk * KNOWN["walk_sd"] ** 2 * np.minimum(WEEKS[:, None], WEEKS)
    level = level + WIDE**2
    total = level + noise * one.variance() * np.eye(len(WEEKS))
    off, last = y - np.log(40), level[:, -1]
    solved = np.linalg.solve(total, np.stack([off, last], axis=2))
    told = density - np.linalg.slogdet(total)[1] / 2
    told -= (off * solved[..., 0]).sum(axis=1) / 2
    mean = np.log(40) + (last * solved[..., 0]).sum(axis=1)
    return told, mean, last[:, -1] - (last * solved[..., 1]).sum(axis=1)


def sampled(teachers):
    """Mean, SD and Monte-Carlo error of each last level; some teach the relation."""
    people = lifters()

    def log_density(theta):
        scales = theta[:, -2:]
        out = -np.square(theta[:, :-2]).sum(axis=1) / 2
        out -= np.square(scales).sum(axis=1) / 0.35**2 / 2
        out += sum(of_lifter(people[i], theta, i)[0] for i in teachers)
        inside = ((scales >= LOWEST) & (scales <= HIGHEST)).all(axis=1)
        return np.where(inside, out, -np.inf)

    size = 3 * len(BENDS) + 2
    start = np.random.default_rng(5).normal(0, 0.3, (WALKERS, size))
    start[:, -2:] = np.abs(start[:, -2:])
    moves = [(emcee.moves.DEMove(), 0.8), (emcee.moves.StretchMove(), 0.2)]
    sampler = emcee.EnsembleSampler(
        WALKERS, size, log_density, vectorize=True, moves=moves
    )
    sampler.random_state = np.random.MT19937(7).state
    sampler.run_mcmc(start, STEPS)
    kept = sampler.get_chain(discard=STEPS // 4, thin=10)
    found = []
    for i, one in enumerate(people):
        _, mean, variance = of_lifter(one, kept.reshape(-1, size), i)
        chain = mean.reshape(kept.shape[:2])
        slow = float(emcee.autocorr.integrated_time(chain, quiet=True)[0])
        sd, n = np.sqrt(mean.var() + variance.mean()), mean.size / slow
        found.append([mean.mean(), sd, mean.std() / n**0.5, n])
    return pd.DataFrame(found, columns=["mean", "sd", "error", "n"])


@pytest.fixture(scope="module")
def fitted():
    """Mean and SD of each last log strength by the fit."""
    last = fit_strength(together(*(one.sets() for one in lifters()))).trend
    last = last.groupby("lifter").tail(1)
    return last[["log_strength", "log_sd"]].set_axis(["mean", "sd"], axis=1).to_numpy()


@pytest.fixture(scope="module")
def taught_by_contrasts():
    """As the method page states it: the one lifter with contrasts teaches."""
    return sampled([1])


def apart(fitted, sampled, of):
    """Means in standard deviations beyond Monte-Carlo error; widths as a ratio."""
    row = sampled.iloc[of]
    assert row["n"] > 2500  # so that a width is sure to 2 %
    off = max(abs(fitted[of, 0] - row["mean"]) - 3 * row["error"], 0.0)
    return off / row["sd"], fitted[of, 1] / row["sd"]


# The fit is linear in the relation, the sampler is not, so that its means lie higher:
# measured by 0.25 and 0.12 standard deviations, with widths of 0.97 and 0.99. A
# quarter of one is allowed, and 5 % of width.
@pytest.mark.parametrize("of", [0, 2], ids=["one load", "called"])
def test_strength_is_that_of_a_general_sampler(fitted, taught_by_contrasts, of):
    off, wider = apart(fitted, taught_by_contrasts, of)
    assert off < 0.25
    assert wider == pytest.approx(1, abs=0.05)


@pytest.mark.xfail(
    strict=True,
    reason="35 % wider: a day's form counts twice in contrasts, and what an exercise "
    "has of its own is added after they have taught",
)
def test_the_width_of_who_teaches_is_that_of_a_general_sampler(
    fitted, taught_by_contrasts
):
    off, wider = apart(fitted, taught_by_contrasts, 1)
    assert off < 0.25
    assert wider == pytest.approx(1, abs=0.05)


@pytest.mark.xfail(
    strict=True,
    reason="0.6 standard deviations off: of one density, scatter at one load "
    "teaches the relation too; the fit lets contrasts alone",
)
def test_strength_is_that_of_one_density_without_a_cut(fitted):
    off, _ = apart(fitted, sampled([0, 1, 2]), 0)
    assert off < 0.25
