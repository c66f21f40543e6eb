"""What sets say about their cells and lifters, summed once for all of them."""

from dataclasses import dataclass

import numpy as np
from scipy.sparse import csr_array

from analytics.strength.core.panel import Batch, Floats, Ints, Panel


def segment_sums(values: Floats, starts: Ints) -> Floats:
    """Sum runs of rows that begin at ``starts``."""
    n = len(values)
    runs = csr_array((np.ones(n), np.arange(n), np.append(starts, n)))
    return np.asarray(runs @ values)


def squares(left: Floats, right: Floats, starts: Ints) -> Floats:
    """Return left' right of each run of rows that begins at ``starts``."""
    out = np.empty((len(starts), left.shape[1], right.shape[1]))
    ends = np.append(starts[1:], len(left))
    for run, (start, end) in enumerate(zip(starts, ends, strict=True)):
        np.matmul(left[start:end].T, right[start:end], out=out[run])
    return out


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Sums:
    """What the sets say about their cells, with the cell effects integrated out.

    Arrays have one more row than there are cells: the empty one used as padding.
    """

    w: Floats  # (n_cells + 1,)
    wy: Floats
    wh: Floats  # (n_cells + 1, nh)
    raw_w: Floats
    raw_wy: Floats
    raw_wh: Floats
    cell_variance: Floats  # of the cell effect, given everything else
    hh: Floats  # (n_lifters, nh, nh)
    hy: Floats  # (n_lifters, nh)
    constant: float


def sums(
    panel: Panel, *, precision: Floats, weighted_y: Floats, cell_variance: Floats
) -> Sums:
    """Sum the sets of each cell and integrate the cell effect out.

    Parameters
    ----------
    panel : Panel
        Whose sets these are.
    precision, weighted_y : ndarray, shape (n_sets,)
        Natural parameters of each set: ``-precision z**2 / 2 + weighted_y z``.
    cell_variance : ndarray, shape (n_cells,)
        Prior variance of the cell effect.

    Returns
    -------
    sums : Sums
        Ready for :func:`gram`.
    """
    starts = np.searchsorted(panel.cell_of_set, np.arange(panel.n_cells))
    by_lifter = np.searchsorted(panel.lifter_of_set, np.arange(panel.n_lifters))
    cell_by_lifter = np.searchsorted(panel.lifter_of_cell, np.arange(panel.n_lifters))
    h = panel.set_terms
    nh = h.shape[1]
    w, wy = segment_sums(np.stack([precision, weighted_y], axis=1), starts).T
    weighted_h = precision[:, None] * h
    wh = segment_sums(weighted_h, starts)
    post = cell_variance / (1 + cell_variance * w)
    keep = 1 / (1 + cell_variance * w)
    hh = squares(h, weighted_h, by_lifter)
    hh -= squares(wh, post[:, None] * wh, cell_by_lifter)
    hy = segment_sums(weighted_y[:, None] * h, by_lifter)
    hy = hy - segment_sums((post * wy)[:, None] * wh, cell_by_lifter)
    constant = float(0.5 * (np.log(keep) + post * wy**2).sum())
    pad1, pad2 = np.zeros(1), np.zeros((1, nh))
    return Sums(
        w=np.concatenate([keep * w, pad1]),
        wy=np.concatenate([keep * wy, pad1]),
        wh=np.concatenate([keep[:, None] * wh, pad2]),
        raw_w=np.concatenate([w, pad1]),
        raw_wy=np.concatenate([wy, pad1]),
        raw_wh=np.concatenate([wh, pad2]),
        cell_variance=np.concatenate([post, pad1]),
        hh=hh,
        hy=hy,
        constant=constant,
    )


def gram(batch: Batch, sums_: Sums) -> tuple[Floats, Floats]:
    """Precision and weighted mean of a batch's columns, from its cells.

    Parameters
    ----------
    batch : Batch
        Padded lifters.
    sums_ : Sums
        Of the whole panel.

    Returns
    -------
    precision : ndarray, shape (B, C, C)
    weighted : ndarray, shape (B, C)
    """
    w, wy, wh = (x.take(batch.cells, axis=0) for x in (sums_.w, sums_.wy, sums_.wh))
    n_days, u, nh = batch.n_days, batch.rows.shape[2], wh.shape[2]
    size = n_days + u + nh
    out = np.zeros((len(w), size, size))
    vec = np.zeros((len(w), size))
    weighted_rows = w[..., None] * batch.rows
    rows_t = batch.rows.transpose(0, 2, 1)
    all_u, all_h = slice(n_days, n_days + u), slice(n_days + u, size)
    out[:, all_u, all_u] = rows_t @ weighted_rows
    out[:, all_u, all_h] = rows_t @ wh
    out[:, all_h, all_u] = out[:, all_u, all_h].transpose(0, 2, 1)
    out[:, all_h, all_h] = sums_.hh[batch.lifters]
    vec[:, all_u] = (rows_t @ wy[..., None])[..., 0]
    vec[:, all_h] = sums_.hy[batch.lifters]
    if n_days:
        of_day = np.concatenate(
            [weighted_rows, wh, w[..., None], wy[..., None]], axis=2
        )
        of_day = batch.day_rows @ of_day
        n = np.arange(n_days)
        out[:, n, n] = of_day[..., -2]
        out[:, :n_days, n_days:] = of_day[..., :-2]
        out[:, n_days:, :n_days] = of_day[..., :-2].transpose(0, 2, 1)
        vec[:, :n_days] = of_day[..., -1]
    return out, vec
