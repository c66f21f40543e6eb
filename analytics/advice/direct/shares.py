"""What every hard set of a curl or pull used of the elbow flexors, by week.

Share of a set: the largest part of what the flexors can give that its load asked on the
way. The lifter's strength comes from the own curls; a pull that was lifted rules out
draws in which the flexors could not have done it.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from functools import cache
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analytics import strength
from analytics.advice.capacity import own_setups
from analytics.advice.direct.kinds import CURL, OWN, PULL, checked, kind_of
from analytics.advice.person import measured_body
from analytics.advice.rules import direct_movement
from analytics.advice.volume import hard_sets
from analytics.catalogue import Setup, load_catalogue, load_per_arm
from analytics.catalogue.pulls import load_pulls
from analytics.errors import InputError
from analytics.intervals import QUANTILES, Z90, week_of
from analytics.mechanics.limits import resolve
from analytics.mechanics.pulls.drawn import Arms
from analytics.mechanics.pulls.path import load_per_hand
from analytics.strength import StrengthFit

COLUMNS = ["week", "variant", "hard_sets", "share", "low", "high"]
RARE = 0.05  # of the draws left by what was lifted; fewer contradict the model
Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Shares:
    """What sets asked of the elbow flexors.

    Attributes
    ----------
    rows : DataFrame
        ``week, variant, hard_sets, share, low, high``: share of one set, mean of the
        week's, 90 % interval; NaN where none is known. [1]
    weeks : int
        From the first to the last week with a set of any movement.
    pull_work, curl_work : ndarray, shape (n_draws,)
        Shares of all hard sets together, a week. [1]
    pull_sets, curl_sets : int
        Hard sets with a share.
    unshared : dict of str to int
        Hard sets without a share, by why.
    effort_unknown : int
        Sets of curls and pulls in none of these, since nobody wrote how hard they were.
    basis : str
        Where the lifter's strength comes from.
    contradicted : dict of str to float
        Pulls that few draws could have done, and how many could. [1]
    """

    rows: pd.DataFrame
    weeks: int
    pull_work: Floats
    curl_work: Floats
    pull_sets: int
    curl_sets: int
    unshared: dict[str, int]
    effort_unknown: int
    basis: str
    contradicted: dict[str, float]

    def remarks(self) -> list[str]:
        """Say what the shares rest on and what they leave out."""
        said = [f"Strength: {self.basis}."]
        said += [
            f"{n} hard set{'s' * (n != 1)} without a share, in no sum: {why}."
            for why, n in self.unshared.items()
        ]
        if self.effort_unknown:
            said.append(
                f"{self.effort_unknown} sets have no effort written down and are not "
                "counted as hard."
            )
        said += [
            f"{variant}: contradicted; in {1 - frac:.0%} of the draws the model asks "
            "the flexors for more than they have, though the load was lifted. The "
            "share is what is left."
            for variant, frac in self.contradicted.items()
        ]
        return said


def weekly_shares(
    fits: Iterable[StrengthFit],
    sets: pd.DataFrame,
    bodies: pd.DataFrame,
    *,
    lifter: str,
    given: Mapping[str, float] | None = None,
) -> Shares:
    """Give the share of the elbow flexors that each week's hard sets used.

    Parameters
    ----------
    fits : iterable of StrengthFit
        Of curls and pulls where they have sets.
    sets : DataFrame
        Stored sets of all movements.
    bodies : DataFrame
        Body measurements.
    lifter : str
        Code.
    given : mapping of str to float, optional
        Share of exercises that have none of their own, by variant. [1]

    Returns
    -------
    shares : Shares

    Raises
    ------
    InputError
        If the lifter has no sets, or a given share is not from 0 to 1, or is of an
        exercise that was not done or has one.
    """
    own = sets[sets["lifter"] == lifter]
    if own.empty:
        raise InputError(f"no sets of lifter '{lifter}'; import a log first")
    given = checked(given or {}, own)
    measured = bodies[bodies["lifter"] == lifter]
    arms = Arms(measured_body(measured)[0]) if len(measured) else _usual_arms()
    work = own[own["variant"].map(kind_of) != ""]
    hard, unknown = hard_sets(work)
    known = strength.completed(work[hard]) if hard.any() else work[hard]
    one = _Lifter(lifter=lifter, fits={fit.movement: fit for fit in fits}, arms=arms)
    counted = _Counted(known, dict(given), one)
    week = week_of(own["performed_on"])
    weeks = int((week.max() - week.min()).days // 7) + 1
    return counted.shares(weeks=weeks, effort_unknown=int(unknown.sum()))


@cache
def _usual_arms() -> Arms:
    """Arms of whoever nobody measured: of no person, so that all may share them."""
    return Arms()


@dataclass(slots=True, kw_only=True, eq=False)
class _Lifter:
    """Strength of one lifter as the draws see it."""

    lifter: str
    fits: dict[str, StrengthFit]
    arms: Arms
    basis: str = ""
    _scales: dict[tuple[str, pd.Timestamp], Floats] = field(default_factory=dict)
    _curls: dict[str, tuple[Floats, Floats]] = field(default_factory=dict)
    _per_arm: dict[str, float] = field(default_factory=dict)
    _done: dict[str, pd.DataFrame] = field(default_factory=dict)

    def __post_init__(self) -> None:
        """Look up once what every set asks for."""
        for movement, fit in self.fits.items():
            self._done[movement] = own_setups(fit, self.lifter)
        curls = self.fits.get(direct_movement())
        if curls is not None:
            mine = curls.trend[curls.trend["lifter"] == self.lifter].dropna(
                subset=["strength_kg", "low_kg", "high_kg"]
            )
            mine = mine.sort_values("date")
            logs = np.log(mine[["strength_kg", "low_kg", "high_kg"]].to_numpy(float))
            self._curls = {
                setup: (_days(mine["date"].iloc[at]), logs[at])
                for setup, at in mine.groupby("setup").indices.items()
            }
            shares = curls.setups.set_index("setup")["arms_share"]
            self._per_arm = shares.to_dict()

    def pulled_once(self, movement: str, setup: str, day: pd.Timestamp) -> Any:
        """Log load liftable once, the body included; None where it is not known."""
        known = self._done.get(movement)
        if known is None or setup not in set(known["setup"]):
            return None
        return strength.predict(self.fits[movement], self.lifter, setup, day)[0]

    def curled_once(self, setup: str, day: pd.Timestamp) -> tuple[float, float]:
        """Log load liftable once with its error, on the line between sessions."""
        dates, logs = self._curls[setup]
        at = float(_days(day))
        middle, low, high = (np.interp(at, dates, column) for column in logs.T)
        return float(middle), float((high - low) / (2 * Z90))

    def has_curl(self, setup: str) -> bool:
        """Whether strength in a setup is known."""
        return setup in self._curls

    def main(self) -> Setup | None:
        """Modelled curl with most own sets."""
        fit = self.fits.get(direct_movement())
        if fit is None:
            return None
        mine = self._done[direct_movement()]
        mine = mine[mine["setup"].isin(list(self._curls))]
        mine = mine[mine["variant"].isin(load_catalogue().modelled)]
        if mine.empty:
            return None
        row = fit.setups.set_index("setup").loc[
            mine.loc[mine["sets"].idxmax(), "setup"]
        ]
        return Setup.of(row)

    def scale(self, setup: Setup | None, day: pd.Timestamp) -> Floats:
        """Strength over that of the draws, from a curl or the population."""
        key = "" if setup is None else setup.key
        if (key, day) not in self._scales:
            self._scales[key, day] = self._scale(setup, day)
        return self._scales[key, day]

    def _scale(self, setup: Setup | None, day: pd.Timestamp) -> Floats:
        if setup is None:
            self.basis = self.basis or (
                "population, since no curl of the own tells it: untrained men, wide"
            )
            return self.arms.population_scale()
        mean, sd = self.curled_once(setup.key, day)
        share = self._per_arm[setup.key]
        return self.arms.scale_from_curl(
            setup.variant,
            setup.span,
            log_kg=mean - float(np.log(share)),
            log_sd=sd,
        )


class _Counted:
    """Shares of hard sets by draw, gathered by week and variant."""

    def __init__(
        self, sets: pd.DataFrame, given: dict[str, float], one: _Lifter
    ) -> None:
        self.one, self.given, self.sets = one, given, sets
        self.unshared: dict[str, int] = {}
        self.contradicted: dict[str, float] = {}
        n = one.arms.draws.n
        self.weights = np.ones(n)
        self.main = one.main()
        if self.main is not None:
            one.basis = f"own {self.main.key}"
        for variant in sets["variant"].unique():
            if variant in load_pulls():
                self._weigh(variant)

    def _weigh(self, variant: str) -> None:
        """Keep draws that could have done what was lifted once."""
        mine = self.sets[self.sets["variant"] == variant]
        mine = mine.assign(hand_kg=[*map(_hand_kg, mine.to_dict("records"))])
        mine = mine.dropna(subset="hand_kg")
        if mine.empty:
            return
        top = mine.loc[mine["hand_kg"].idxmax()]
        day = top["performed_on"]
        once_kg = top["hand_kg"]
        found = self.one.pulled_once(top["movement"], top["setup"], day)
        if found is not None:
            once_kg = max(once_kg, np.exp(found) / top["arms_share"])
        drawn = self.one.arms.pull(load_pulls()[variant])
        weights = drawn.possible(once_kg, self.one.scale(self.main, day))
        if weights.sum() < RARE:
            self.contradicted[variant] = float(weights.sum())
        self.weights = self.weights * weights

    def _share(self, row: dict[str, Any]) -> Floats | float | str:
        """Share of one set by draw, or why it has none."""
        variant, arms = row["variant"], self.one.arms
        if variant in self.given:
            return self.given[variant]
        kind = kind_of(variant)
        if kind == OWN:
            return "exercises of one's own whose share nobody gave"
        day = row["week"]
        if variant in load_pulls():
            hand_kg = _hand_kg(row)
            if np.isnan(hand_kg):
                return "body mass unknown where the body is lifted"
            drawn = arms.pull(load_pulls()[variant])
            return drawn.used(hand_kg, self.one.scale(self.main, day))[1].max(axis=-1)
        if kind == PULL or variant not in load_catalogue().modelled:
            return "variants that are not modelled"
        setup = Setup.of(row)
        held = setup.span
        if pd.notna(row["hold_s"]) and pd.notna(row["angle_deg"]):
            held = row["angle_deg"], row["angle_deg"]
        try:
            curl, span = resolve((variant, held))
            resolve((variant, setup.span))
        except InputError:
            return "ranges outside what is modelled"
        own = self.one.has_curl(setup.key)
        scale = self.one.scale(setup if own else self.main, day)
        load = load_per_arm(row["load_kg"], row["arms_share"])
        return arms.curl_use(curl, span, load) / scale

    def shares(self, *, weeks: int, effort_unknown: int) -> Shares:
        """Sum over sets, by week and variant and all together."""
        work = {PULL: 0.0 * self.weights, CURL: 0.0 * self.weights}
        counts = {PULL: 0, CURL: 0}
        kept, rows = self._kept(), []
        if len(self.sets):
            self.sets["week"] = week_of(self.sets["performed_on"])
        for (week, variant), alike in self._groups().items():
            known, all_sets = [], sum(n for _, n in alike)
            for row, n in alike:
                share = self._share(row)
                if isinstance(share, str):
                    self.unshared[share] = self.unshared.get(share, 0) + n
                    continue
                known.append((share, n))
            total = sum(n for _, n in known)
            if total < all_sets:
                rows.append([week, variant, all_sets - total, *[np.nan] * 3])
            if known:
                done = sum(share * n for share, n in known) + 0.0 * self.weights
                kind = CURL if kind_of(variant) == CURL else PULL
                work[kind] = work[kind] + done
                counts[kind] += total
                low, middle, high = np.quantile(done[kept] / total, QUANTILES)
                rows.append([week, variant, total, middle, low, high])
        return Shares(
            rows=pd.DataFrame(rows, columns=COLUMNS),
            weeks=weeks,
            pull_work=work[PULL][kept] / weeks,
            curl_work=work[CURL][kept] / weeks,
            pull_sets=counts[PULL],
            curl_sets=counts[CURL],
            unshared=self.unshared,
            effort_unknown=effort_unknown,
            basis=self.one.basis or "not needed",
            contradicted=self.contradicted,
        )

    def _groups(self) -> dict[tuple[Any, str], list[tuple[dict[str, Any], int]]]:
        """Give sets of the same load once, with their number, by week and variant."""
        groups: dict[tuple[Any, str], list[tuple[dict[str, Any], int]]] = {}
        if self.sets.empty:
            return groups
        by = self.sets.groupby(_ALIKE, dropna=False, sort=False)
        first = self.sets[~self.sets.duplicated(_ALIKE)]
        counted = zip(first.to_dict("records"), by.size(), strict=True)
        for row, n in sorted(counted, key=lambda x: (x[0]["week"], x[0]["variant"])):
            groups.setdefault((row["week"], row["variant"]), []).append((row, n))
        return groups

    def _kept(self) -> NDArray[np.intp]:
        """Draws in proportion to their weights, evenly spaced."""
        n = len(self.weights)
        upto = np.cumsum(self.weights)
        if upto[-1] <= 0:
            return np.arange(n)
        at = (np.arange(n) + 0.5) / n * upto[-1]
        return np.searchsorted(upto, at).clip(max=n - 1)


_ALIKE = [
    *("week", "variant"),
    *("load_kg", "setup", "arms_share", "body_mass_kg", "hold_s", "angle_deg"),
]


def _days(dates: Any) -> Any:
    return np.asarray(dates, dtype="datetime64[D]").astype(float)


def _hand_kg(row: Mapping[str, Any]) -> float:
    return float(
        load_per_hand(
            load_pulls()[row["variant"]],
            row["load_kg"],
            arms_share=row["arms_share"],
            body_mass_kg=row["body_mass_kg"],
        )
    )
