"""The fields as the intake needs them: readers, and which files can hold which."""

from __future__ import annotations

from collections.abc import Callable

from analytics.intake import cells
from analytics.intake.cells import Refusal
from analytics.store.fields import FIELDS as REGISTRY

Reader = Callable[[str, str], "float | tuple[float, float] | Refusal"]

_OTHER = ("", "label", "exercise", "date", "load", "unit", "side")
# Readers for cells of numbers that are not plain ones.
READERS: dict[str, Reader] = {
    field.name: getattr(cells, f"read_{field.reader}")
    for field in REGISTRY.values() if field.reader not in _OTHER
}  # fmt: skip
LOADS = tuple(f.name for f in REGISTRY.values() if f.reader == "load")
LABELS = tuple(f.name for f in REGISTRY.values() if f.reader == "label")
LENGTHS = tuple(f.name for f in REGISTRY.values() if f.reader == "length")
SET_FIELDS = tuple(f.name for f in REGISTRY.values() if f.stored != "body")
MEASURES = ("body_mass", *LENGTHS)
BODY_FIELDS = ("lifter", "measured_on", *MEASURES)
# One column for each side of the body, in place of a column `side`.
SIDED = tuple(
    f"{field.name}_{side}"
    for field in REGISTRY.values() if field.sided
    for side in ("left", "right")
)  # fmt: skip
FIELDS = tuple(dict.fromkeys((*SET_FIELDS, *SIDED, *BODY_FIELDS)))


def unsided(field: str) -> str:
    """Field of a column that is for one side only.

    Parameters
    ----------
    field : str
        For example ``reps_left``.

    Returns
    -------
    field : str
        For example ``reps``.
    """
    return field.rpartition("_")[0] if field in SIDED else field
