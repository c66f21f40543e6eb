"""Posterior summary of the log ratios between setups, from a solved mixed model."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from analytics.strength.core.panel import Batch, Panel, Prior
from analytics.strength.core.solve import Eliminated, Solution

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SetupRatios:
    """Log ratios to the reference setup; the last axis of means is the columns'.

    Attributes
    ----------
    own_mean : ndarray, shape (n_lifters, n_setups, n_columns)
        Of each lifter; the cohort's for a setup the lifter has not done.
    own_cov : ndarray, shape (n_lifters, n_setups, n_setups)
    cohort_mean : ndarray, shape (n_setups, n_columns)
    cohort_cov : ndarray, shape (n_setups, n_setups)
    """

    own_mean: Floats
    own_cov: Floats
    cohort_mean: Floats
    cohort_cov: Floats


def right_sides(
    groups: list[Batch], left: Eliminated, *, precision: Floats, columns: Floats
) -> tuple[Floats, list[Floats]]:
    """Eliminate the lifters from several right-hand sides.

    Parameters
    ----------
    groups, left :
        As given to and by :func:`analytics.strength.core.solve.eliminate`; one cell a
        row, no terms of sets or cells.
    precision : ndarray, shape (n_cells,)
        Of each cell's measurement.
    columns : ndarray, shape (n_cells, n_columns)
        What was measured, and whatever else is to go through the same solution.

    Returns
    -------
    right : ndarray, shape (p, n_columns)
        Of the cohort means; those of several groups of lifters add up.
    own : list of ndarray, shape (B, n_local, n_columns)
        Of each batch's lifters.
    """
    weighted = np.concatenate(
        [precision[:, None] * columns, np.zeros((1, columns.shape[1]))]
    )
    right = np.zeros((len(left.right), columns.shape[1]))
    pieces = []
    for batch, (inverse, shift, _) in zip(groups, left.held, strict=True):
        of_cells = weighted[batch.cells]
        vec = np.concatenate(
            [batch.day_rows @ of_cells, batch.rows.transpose(0, 2, 1) @ of_cells], 1
        )
        right += np.einsum("bcp,bck->pk", batch.fixed, vec)
        right -= np.einsum("blp,blk->pk", shift, vec[:, batch.local])
        pieces.append(inverse @ vec[:, batch.local])
    return right, pieces


def summarise(
    panel: Panel,
    groups: list[Batch],
    prior: Prior,
    solution: Solution,
    *,
    right: Floats,
    pieces: list[Floats],
) -> SetupRatios:
    """Ratios for several right-hand sides of one solved system.

    Parameters
    ----------
    panel, groups, prior, solution :
        As given to and by :func:`analytics.strength.core.solve.solve`.
    right, pieces :
        From :func:`right_sides`; ``right`` over the whole cohort.

    Returns
    -------
    ratios : SetupRatios
    """
    n, v = panel.n_lifters, panel.n_setups
    pick = np.zeros((v, panel.n_fixed))
    for column, setup in enumerate(panel.setup_columns):
        pick[setup, 1 + panel.mean_slope + column] = 1
    fixed = solution.fixed_cov @ right
    mean, cov = np.zeros((n, v, right.shape[1])), np.zeros((n, v, v))
    for batch, part, own in zip(groups, solution.parts, pieces, strict=True):
        columns_mean = batch.fixed @ fixed
        columns_mean[:, batch.local] += own - part.shift @ fixed
        offset, undone, spread = _against(panel, batch, prior, pick)
        mean[batch.lifters] = offset @ columns_mean + undone @ fixed
        crossed = offset @ part.with_fixed @ undone.transpose(0, 2, 1)
        found = offset @ part.cov @ offset.transpose(0, 2, 1)
        found += crossed + crossed.transpose(0, 2, 1)
        found += undone @ solution.fixed_cov @ undone.transpose(0, 2, 1)
        cov[batch.lifters] = found + spread
    return SetupRatios(
        own_mean=mean,
        own_cov=cov,
        cohort_mean=pick @ fixed,
        cohort_cov=pick @ solution.fixed_cov @ pick.T,
    )


def _against(
    panel: Panel, batch: Batch, prior: Prior, pick: Floats
) -> tuple[Floats, Floats, Floats]:
    """Each setup less the reference, in a lifter's columns and in cohort means.

    A setup the lifter has not done is the cohort's, with its spread between lifters.
    """
    v, ref, n = panel.n_setups, panel.reference, len(batch.lifters)
    offset = np.zeros((n, v, batch.fixed.shape[1]))
    lifter, slot = np.nonzero(batch.slots >= 0)
    setup = batch.slots[lifter, slot]
    offset[lifter, setup, batch.n_days + 2 + slot] = 1
    done = np.zeros((n, v), dtype=bool)
    done[lifter, setup] = True
    undone = np.where(done[..., None], 0.0, pick)
    fresh = np.where(done, 0.0, prior.setup_sd**2)
    spread = np.zeros((n, v, v))
    at = np.arange(v)
    spread[:, at, at] = fresh
    spread += fresh[:, [ref], None]
    spread[:, ref, :] = spread[:, :, ref] = 0
    return offset - offset[:, [ref]], undone - undone[:, [ref]], spread
