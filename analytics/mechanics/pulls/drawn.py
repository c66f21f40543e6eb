"""What curls and pulls ask of one pair of arms, under many draws of the parameters.

A draw keeps its parameters through curls and pulls, so that what a lifter's own curls
say of a draw's level holds in the pull, and common errors cancel.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr, ndtri

from analytics.catalogue import Body, Variant, load_catalogue, make_body
from analytics.catalogue.pulls import Pull
from analytics.mechanics.chain.rows import NO_ARM_M
from analytics.mechanics.chain.torques import log_torque, torque_level
from analytics.mechanics.curves import Floats
from analytics.mechanics.draws import N_DRAWS, SEED, Draws, spread
from analytics.mechanics.elbow.drawn import DrawnElbow
from analytics.mechanics.elbow.load_arms import REFERENCE_ELBOW_DEG
from analytics.mechanics.limits import Range, resolve, window_of
from analytics.mechanics.maximum import drawn_limits
from analytics.mechanics.pulls.path import Asked, asked
from analytics.mechanics.weighing import held_strength_nm, weighed_draws
from analytics.units import STANDARD_GRAVITY_M_PER_S2

TOLERANCE = 0.1  # in logs, by which a lift may exceed what the model gives (assumed)
# Beyond it muscle tables end; lengths are held, as the measured moment is near nil.
_LAST_SHOULDER_DEG = load_catalogue().joints["elbow"].shoulder_deg[1]
_LEVEL = "elbow_flexion_level"  # torque of men whom nobody trained


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class DrawnPull:
    """Demand and capability through one pull, by draw.

    Attributes
    ----------
    asked : Asked
        Posture and load_arms, shape (n_draws, STEPS).
    flexors_nm, extensors_nm : ndarray, shape (n_draws, STEPS)
        Largest moment of elbow flexors and shoulder extensors, before the lifter's
        scale. [N m]
    """

    asked: Asked
    flexors_nm: Floats
    extensors_nm: Floats

    def used(self, load_kg: float, scale: Any = 1.0) -> tuple[Floats, Floats]:
        """Moment asked over what shoulder and elbow can give, by draw and step.

        Parameters
        ----------
        load_kg : float
            Per hand. [kg]
        scale : array_like, shape (n_draws,)
            The lifter's strength over the draw's. [1]

        Returns
        -------
        shoulder, elbow : ndarray, shape (n_draws, STEPS)
            0 where the other side of the joint works. [1]
        """
        shoulder, elbow = self.asked.moment_nm(load_kg)
        scale = np.asarray(scale, dtype=float).reshape(-1, 1)
        return (
            np.maximum(-shoulder, 0) / (scale * self.extensors_nm),
            np.maximum(elbow, 0) / (scale * self.flexors_nm),
        )

    def possible(self, once_kg: Any, scale: Any = 1.0) -> Floats:
        """Weight of every draw, given a load that its arms lifted once.

        Parameters
        ----------
        once_kg : float
            Per hand: what was liftable once. [kg]
        scale : array_like, shape (n_draws,)
            The lifter's strength over the draw's. [1]

        Returns
        -------
        weights : ndarray, shape (n_draws,)
            Near 0 where the flexors would have needed more than they have; they sum
            to the share of draws that the lift leaves standing. [1]
        """
        most = self.used(once_kg, scale)[1].max(axis=-1)
        return np.asarray(ndtr(-np.log(np.maximum(most, 1e-9)) / TOLERANCE)) / len(most)

    def limit_kg(self, scale: Any = 1.0) -> tuple[Floats, NDArray[np.intp]]:
        """Largest load per hand held all along, and the joint that limits it."""
        scale = np.asarray(scale, dtype=float).reshape(-1, 1)
        loads = []
        for sign, load_arm, own, able in zip(
            (-1.0, 1.0),
            self.asked.load_arm_m,
            self.asked.own_nm,
            (self.extensors_nm, self.flexors_nm),
            strict=True,
        ):
            weight = sign * load_arm * STANDARD_GRAVITY_M_PER_S2
            spare = scale * able - sign * own
            load = np.full(np.broadcast_shapes(spare.shape, weight.shape), np.inf)
            needed = np.broadcast_to(sign * load_arm > NO_ARM_M, load.shape)
            np.divide(spare, weight, out=load, where=needed)
            loads.append(load.min(axis=-1))
        both = np.stack(loads)
        return both.min(axis=0), both.argmin(axis=0)


class Arms:
    """One lifter's arms under many draws.

    Parameters
    ----------
    body : Body or None
        Segment sizes; the usual body when None.
    n_draws : int
        Number of draws.
    seed : int or None
        None leaves every parameter at its published value.
    """

    def __init__(
        self,
        body: Body | None = None,
        *,
        n_draws: int = N_DRAWS,
        seed: int | None = SEED,
    ) -> None:
        self.body = body or make_body()
        self.joint = load_catalogue().joints["elbow"]
        self.draws: Draws = weighed_draws(
            n_draws, joint=self.joint, seed=seed, sex=self.body.sex
        )
        self.limb = DrawnElbow(self.draws, body=self.body)
        grid = list(self.joint.grid())
        held = held_strength_nm(self.joint, self.draws)
        self.reference_nm = held[:, grid.index(REFERENCE_ELBOW_DEG)]
        self._pulls: dict[str, DrawnPull] = {}
        self._curls: dict[tuple[str, Range], Floats] = {}
        self._limits: dict[tuple[str, Range], Floats] = {}

    def pull(self, pull: Pull) -> DrawnPull:
        """Demand and capability through a pull."""
        if pull.variant not in self._pulls:
            posture = asked(
                pull,
                body=self.body,
                shoulder_off_deg=self._off("shoulder", pull),
                forearm_off_deg=self._off("forearm", pull),
            )
            self._pulls[pull.variant] = DrawnPull(
                asked=posture,
                flexors_nm=self._flexors_nm(pull, posture),
                extensors_nm=self._extensors_nm(posture),
            )
        return self._pulls[pull.variant]

    def _off(self, part: str, pull: Pull) -> Floats:
        name = f"pull_{part}_deg@{pull.variant}"
        return np.asarray(self.draws.departure(name), dtype=float)

    def _flexors_nm(self, pull: Pull, posture: Asked) -> Floats:
        """Moment of the flexors on the path, at the bend of each draw."""
        moment = np.concatenate(
            [
                self.limb.piece_nm(along(pull), piece, posture_deg=(0, 0))
                for piece in self.draws.pieces()
            ]
        )
        at = np.round(posture.elbow_deg - self.joint.grid_deg[0]).astype(int)
        at = np.broadcast_to(at, (len(moment), at.shape[-1]))
        return np.take_along_axis(moment, at, axis=1).astype(float)

    def _extensors_nm(self, posture: Asked) -> Floats:
        """Measured extension of the shoulder beside the elbow's strength."""
        draws = self.draws
        level = self.reference_nm * torque_level("shoulder", self.joint.joint)
        level = level[:, None] * draws.factor("torque_level.shoulder")
        level = level * draws.factor("torque_reverse.shoulder")
        _, extension = log_torque("shoulder", posture.shoulder_deg)
        return np.asarray(level * np.exp(extension), dtype=float)

    def curl_use(self, variant: Variant, range_deg: Range, load_kg: Any) -> Floats:
        """Largest utilisation of the flexors in a curl, by draw.

        Parameters
        ----------
        variant : Variant
            Modelled.
        range_deg : tuple of float
            First and last elbow angle. [deg]
        load_kg : array_like, shape (n_draws,) or ()
            Per arm. [kg]

        Returns
        -------
        used : ndarray, shape (n_draws,)
            Before the lifter's scale. [1]
        """
        key = variant.variant, range_deg
        if key not in self._curls:
            window, parts = window_of(self.joint, range_deg), []
            for piece in self.draws.pieces():
                rows = self.limb.rows(variant, piece).within(window)
                per_kg = STANDARD_GRAVITY_M_PER_S2 * rows.load_arm_m[0]
                parts.append(np.stack([per_kg, rows.own_nm[0]]) / rows.most_nm[0])
            self._curls[key] = np.concatenate(parts, axis=1)
        per_kg, own = self._curls[key]
        load = np.asarray(load_kg, dtype=np.float32).reshape(-1, 1)
        return np.maximum((load * per_kg + own).max(axis=-1), 0.0).astype(float)

    def scale_from_curl(
        self,
        variant: str,
        range_deg: Range | None,
        *,
        log_kg: float,
        log_sd: float,
    ) -> Floats:
        """Set the lifter's strength over each draw's, from a curl liftable once.

        Parameters
        ----------
        variant : str
            A modelled curl.
        range_deg : tuple of float or None
            Its range; the variant's own when None. [deg]
        log_kg, log_sd : float
            Log of the load per arm liftable once, with its error. [1]

        Returns
        -------
        scale : ndarray, shape (n_draws,)
            Such that the draw's limit in that curl is the lifter's. [1]
        """
        curl, span = resolve((variant, range_deg))
        if (variant, span) not in self._limits:
            found = drawn_limits(self.limb, [(curl, span)], details=False)
            limit = found[variant, span].load_kg
            self._limits[variant, span] = self.curl_use(curl, span, limit)
        once = np.exp(log_kg + log_sd * self._normal("own_strength"))
        return self.curl_use(curl, span, once) / self._limits[variant, span]

    def population_scale(self) -> Floats:
        """Strength of a man whom nobody tested over each draw's."""
        table = load_catalogue().tables[_LEVEL]
        logs = np.log(table.numbers("torque"))
        sd = np.hypot(np.std(logs, ddof=1), spread("elbow_strength"))
        z = self._normal("elbow_strength")
        return np.asarray(np.exp(logs.mean() + sd * z) / self.reference_nm)

    def _normal(self, name: str) -> Floats:
        """Draw a standard normal on a stream of its own, nothing without a seed."""
        if self.draws.seed is None:
            return np.zeros(self.draws.n)
        share = self.draws.share(name).astype(float)
        return np.asarray(ndtri(np.clip(share, 1e-6, 1 - 1e-6)))


def along(pull: Pull) -> Variant:
    """Free arm on the path of a pull, as the muscles meet it.

    Parameters
    ----------
    pull : Pull
        Path and forearm.

    Returns
    -------
    variant : Variant
        The shoulder as a function of the elbow; its mean where the elbow stays.
    """
    knots: dict[float, list[float]] = {}
    for elbow, shoulder, _ in pull.knots:
        knots.setdefault(elbow, []).append(min(shoulder, _LAST_SHOULDER_DEG))
    path = [(elbow, float(np.mean(found))) for elbow, found in knots.items()]
    if len(path) == 1:
        path.append((path[0][0] + 1, path[0][1]))
    return (
        load_catalogue()
        .variants["standing_barbell_curl"]
        .bent(path=tuple(path), rotation_deg=pull.rotation_deg)
    )
