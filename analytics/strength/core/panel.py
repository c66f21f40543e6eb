"""The linear part of the strength model, for all lifters at once.

Sets belong to cells (one lifter, day and setup), cells to days, days to
lifters. What a cell needs of its sets is their summed precision, so the cost
of a solution depends on cells, not on sets. No file, no log and no screen is
known here.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Panel:
    """Sets, cells and days of many lifters, sorted by lifter, day and setup.

    Attributes
    ----------
    cell_of_set : ndarray, shape (n_sets,)
        Ascending, every cell at least once.
    lifter_of_set, lifter_of_cell : ndarray
        Lifter number, ascending.
    day_of_cell : ndarray, shape (n_cells,)
        Number of the training day within the lifter, from 0.
    setup_of_cell : ndarray, shape (n_cells,)
    weeks_of_cell : ndarray, shape (n_cells,)
        Weeks since the middle of the lifter's log.
    cell_terms : ndarray, shape (n_cells, n_cell_terms)
        Further columns with a cohort mean only.
    set_terms : ndarray, shape (n_sets, n_set_terms)
        Columns that differ between the sets of a cell.
    local_set_terms : tuple of int
        Those of ``set_terms`` with a deviation of each lifter.
    mean_set_terms : tuple of int
        Those of ``set_terms`` with a cohort mean.
    days, slope, setup_slopes, setup_means, mean_slope : bool
        Which parts the model has: walk and day effect; a slope of each lifter;
        of each lifter and setup; a cohort mean of each setup but the first
        (number ``reference``); of the slope.
    """

    cell_of_set: Ints
    lifter_of_set: Ints
    lifter_of_cell: Ints
    day_of_cell: Ints
    setup_of_cell: Ints
    weeks_of_cell: Floats
    cell_terms: Floats
    set_terms: Floats
    n_setups: int
    reference: int = 0
    local_set_terms: tuple[int, ...] = ()
    mean_set_terms: tuple[int, ...] = ()
    days: bool = True
    slope: bool = True
    setups: bool = True
    setup_slopes: bool = True
    setup_means: bool = True
    mean_slope: bool = True

    @property
    def n_lifters(self) -> int:
        """Number of lifters."""
        return int(self.lifter_of_cell[-1]) + 1

    @property
    def n_cells(self) -> int:
        """Number of cells."""
        return len(self.lifter_of_cell)

    @property
    def setup_columns(self) -> tuple[int, ...]:
        """Setups with a cohort mean, in order."""
        if not self.setup_means:
            return ()
        return tuple(v for v in range(self.n_setups) if v != self.reference)

    @property
    def n_fixed(self) -> int:
        """Number of cohort means: level, slope, setups, cell and set terms."""
        return (
            1
            + self.mean_slope
            + len(self.setup_columns)
            + self.cell_terms.shape[1]
            + len(self.mean_set_terms)
        )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Batch:
    """Lifters of about equal length, padded to the longest.

    Columns of a lifter: days | level, slope | setups | setup slopes | cell
    terms | set terms. ``local`` are those with a deviation of the lifter,
    ``fixed`` maps each to the cohort mean it shares.
    """

    lifters: Ints
    cells: Ints  # (B, Nc), padded with n_cells
    n_days: int
    day: Ints  # (B, Nc)
    day_rows: Floats  # (B, Nd, Nc) one-hot
    day_used: NDArray[np.bool_]  # (B, Nd)
    day_weeks: Floats  # (B, Nd) since the first day
    rows: Floats  # (B, Nc, n_u)
    slots: Ints  # (B, V) global setup of each slot, -1 unused
    local: Ints  # columns
    fixed: Floats  # (B, C, p)

    @property
    def n_slots(self) -> int:
        """Largest number of setups one lifter of the batch uses."""
        return self.slots.shape[1]


def batches(panel: Panel, *, largest_floats: int = 3_000_000) -> list[Batch]:
    """Group lifters of similar length so that little is padded.

    Parameters
    ----------
    panel : Panel
        All lifters.
    largest_floats : int
        Bound of one padded matrix of a batch. [1]

    Returns
    -------
    batches : list of Batch
        Every lifter in exactly one.
    """
    n_cells = np.bincount(panel.lifter_of_cell, minlength=panel.n_lifters)
    n_days = np.zeros(panel.n_lifters, dtype=np.int64)
    np.maximum.at(n_days, panel.lifter_of_cell, panel.day_of_cell + 1)
    order = np.lexsort((n_days, n_cells))
    starts = np.concatenate([[0], np.cumsum(n_cells)])
    made, begin, widest = [], 0, 0
    fewest = int(n_cells[order[0]])
    for at, lifter in enumerate(order):
        longest, width = int(n_cells[lifter]), int(n_days[lifter]) + 20
        side = max(widest, width)
        too_big = (at + 1 - begin) * max(side, longest) * side > largest_floats
        if at > begin and (too_big or longest > 1.4 * fewest + 6):
            made.append(_batch(panel, np.sort(order[begin:at]), starts, n_cells))
            begin, fewest, side = at, longest, width
        widest = side
    return [*made, _batch(panel, np.sort(order[begin:]), starts, n_cells)]


def _batch(panel: Panel, lifters: Ints, starts: Ints, n_cells: Ints) -> Batch:
    longest = int(n_cells[lifters].max())
    offset = np.arange(longest)
    inside = offset < n_cells[lifters][:, None]
    cells = np.where(inside, starts[lifters][:, None] + offset, panel.n_cells)
    real = np.minimum(cells, panel.n_cells - 1)
    day = np.where(inside, panel.day_of_cell[real], 0)
    n_days = int(day.max()) + 1 if panel.days else 0
    setup = np.where(inside, panel.setup_of_cell[real], -1)
    slots = _slots(setup, panel.n_setups if panel.setups else 0)
    weeks = np.where(inside, panel.weeks_of_cell[real], 0.0)
    rows = _rows(panel, inside, weeks, setup, slots, real)
    day_rows = (day[:, None, :] == np.arange(n_days)[:, None]) & inside[:, None, :]
    from_first = weeks - weeks[:, :1]
    day_weeks = np.where(day_rows, from_first[:, None, :], 0).max(axis=2, initial=0.0)
    local, fixed = _columns(panel, n_days, slots)
    return Batch(
        lifters=lifters,
        cells=cells,
        n_days=n_days,
        day=day,
        day_rows=day_rows.astype(float),
        day_used=day_rows.any(axis=2),
        day_weeks=day_weeks,
        rows=rows,
        slots=slots,
        local=local,
        fixed=fixed,
    )


def _slots(setup: Ints, n_setups: int) -> Ints:
    """Setups each lifter uses, ascending, padded with -1."""
    used = (setup[:, None, :] == np.arange(n_setups)[:, None]).any(axis=2)
    slots = np.sort(np.where(used, np.arange(n_setups), n_setups), axis=1)
    slots = slots[:, : used.sum(axis=1).max(initial=0)]
    return np.where(slots < n_setups, slots, -1)


def _rows(
    panel: Panel,
    inside: NDArray[np.bool_],
    weeks: Floats,
    setup: Ints,
    slots: Ints,
    real: Ints,
) -> Floats:
    in_slot = (setup[..., None] == slots[:, None, :]) & inside[..., None]
    parts = [inside[..., None].astype(float), weeks[..., None], in_slot.astype(float)]
    if panel.setup_slopes:
        parts.append(in_slot * weeks[..., None])
    parts.append(np.where(inside[..., None], panel.cell_terms[real], 0.0))
    return np.concatenate(parts, axis=2)


def _columns(panel: Panel, n_days: int, slots: Ints) -> tuple[Ints, Floats]:
    """Local columns, and the cohort mean each column shares."""
    n_slots = slots.shape[1]
    at_setups = n_days + 2
    at_terms = at_setups + n_slots * (1 + panel.setup_slopes)
    at_sets = at_terms + panel.cell_terms.shape[1]
    n_columns = at_sets + panel.set_terms.shape[1]
    local = [*range(n_days + 1 + panel.slope)]
    local += [*range(at_setups, at_terms)]
    local += [at_sets + k for k in panel.local_set_terms]
    fixed = np.zeros((len(slots), n_columns, panel.n_fixed))
    fixed[:, n_days, 0] = 1
    at = 1
    if panel.mean_slope:
        fixed[:, n_days + 1, at] = 1
        at += 1
    for v in panel.setup_columns:
        lifter, slot = np.nonzero(slots == v)
        fixed[lifter, at_setups + slot, at] = 1
        at += 1
    shared = [at_terms + k for k in range(panel.cell_terms.shape[1])]
    shared += [at_sets + k for k in panel.mean_set_terms]
    for column in shared:
        fixed[:, column, at] = 1
        at += 1
    return np.array(local, dtype=np.int64), fixed


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Prior:
    """Spread of everything a lifter has of his own, and priors of the means.

    Attributes
    ----------
    level_sd, slope_sd, level_slope_correlation : float
    walk_sd : float
        Per square root of a week.
    day_sd, cell_sd : float
    setup_sd : ndarray, shape (n_setups,)
    setup_slope_sd : float
    set_term_sd : ndarray, shape (n_local_set_terms,)
    fixed_mean, fixed_precision : ndarray, shape (n_fixed,)
        Precision 0 is a flat prior.
    """

    level_sd: float
    slope_sd: float
    level_slope_correlation: float
    walk_sd: float
    day_sd: float
    cell_sd: float
    setup_sd: Floats
    setup_slope_sd: float
    set_term_sd: Floats
    fixed_mean: Floats
    fixed_precision: Floats

    def level_covariance(self) -> Floats:
        """Covariance of level and slope between lifters."""
        both = self.level_slope_correlation * self.level_sd * self.slope_sd
        return np.array([[self.level_sd**2, both], [both, self.slope_sd**2]])


def walk_covariance(weeks: Floats, walk_sd: float) -> Floats:
    """Covariance of a random walk that starts at 0 on the first day."""
    return walk_sd**2 * np.minimum(weeks[:, :, None], weeks[:, None, :])


def day_covariance(batch: Batch, prior: Prior) -> Floats:
    """Covariance of walk and day effect together; unused days have variance 1."""
    cov = walk_covariance(batch.day_weeks, prior.walk_sd)
    n = np.arange(batch.n_days)
    both = batch.day_used[:, :, None] & batch.day_used[:, None, :]
    cov = np.where(both, cov, 0.0)
    cov[:, n, n] += np.where(batch.day_used, prior.day_sd**2, 1.0)
    return cov


def local_variances(panel: Panel, batch: Batch, prior: Prior) -> Floats:
    """Variances of the local columns after level and slope, shape (B, n)."""
    used = batch.slots >= 0
    setup = np.where(used, prior.setup_sd[np.maximum(batch.slots, 0)] ** 2, 1.0)
    parts = [setup]
    if panel.setup_slopes:
        parts.append(np.full(setup.shape, prior.setup_slope_sd**2))
    sets = np.broadcast_to(
        prior.set_term_sd**2, (len(setup), len(panel.local_set_terms))
    )
    return np.concatenate([*parts, sets], axis=1)


def take_lifters(panel: Panel, lifters: Ints) -> tuple[Panel, Ints]:
    """Return a smaller panel of some lifters and the sets it keeps.

    Parameters
    ----------
    panel : Panel
        All lifters.
    lifters : ndarray, shape (n,)
        Lifter numbers to keep.

    Returns
    -------
    panel : Panel
        With lifters renumbered.
    sets : ndarray
        Positions of the kept sets.
    """
    keep = np.zeros(panel.n_lifters, dtype=bool)
    keep[lifters] = True
    new = np.cumsum(keep) - 1
    cells = np.flatnonzero(keep[panel.lifter_of_cell])
    sets = np.flatnonzero(keep[panel.lifter_of_set])
    new_cell = np.zeros(panel.n_cells, dtype=np.int64)
    new_cell[cells] = np.arange(len(cells))
    changes: Mapping[str, object] = {
        "cell_of_set": new_cell[panel.cell_of_set[sets]],
        "lifter_of_set": new[panel.lifter_of_set[sets]],
        "lifter_of_cell": new[panel.lifter_of_cell[cells]],
        "day_of_cell": panel.day_of_cell[cells],
        "setup_of_cell": panel.setup_of_cell[cells],
        "weeks_of_cell": panel.weeks_of_cell[cells],
        "cell_terms": panel.cell_terms[cells],
        "set_terms": panel.set_terms[sets],
    }
    return replace(panel, **changes), sets  # type: ignore[arg-type]
