"""The fields a log can have, in the words of the design, and how each is read."""

from __future__ import annotations

from collections.abc import Callable

from analytics.intake import cells
from analytics.intake.cells import Refusal

Reader = Callable[[str, str], "float | Refusal"]

# Readers for cells of numbers that are not plain ones.
READERS: dict[str, Reader] = {
    "reps": cells.read_reps,
    "rir": cells.read_effort,
    "rpe": cells.read_of_ten,
    "failed": cells.read_yes_no,
    "failed_at_deg": cells.read_degrees,
    "range_from_deg": cells.read_degrees,
    "range_to_deg": cells.read_degrees,
    "rotation": cells.read_rotation,
    "hold_s": cells.read_seconds,
    "angle_deg": cells.read_degrees,
    "pain": cells.read_of_ten,
    "lean": cells.read_degrees,
    "heave": cells.read_yes_no,
    "day": cells.read_plain,
    "stature": cells.read_length,
    "forearm_length": cells.read_length,
    "arm_girth": cells.read_length,
}
# Column of the store that a field fills, where the names differ.
COLUMN_OF = {
    "load": "load_kg", "rotation": "rotation_deg", "lean": "lean_deg",
    "body_mass": "body_mass_kg", "stature": "stature_m",
    "forearm_length": "forearm_length_m", "arm_girth": "arm_girth_m",
}  # fmt: skip
SET_FIELDS = (
    "lifter", "performed_on", "day", "exercise", "equipment", "load", "load_unit",
    "reps", "sets", "shorthand", "rir", "rpe", "failed", "failed_at_deg",
    "range_from_deg", "range_to_deg", "stance", "rotation", "side", "hold_s",
    "angle_deg", "tempo", "pain", "body_mass", "lean", "heave", "note",
)  # fmt: skip
BODY_FIELDS = (
    "lifter", "measured_on", "body_mass", "stature", "forearm_length", "arm_girth",
)  # fmt: skip
LENGTHS = BODY_FIELDS[3:]
LABELS = ("lifter", "equipment", "stance", "tempo")
# One column for each side of the body, in place of a column `side`.
SIDED = tuple(
    f"{name}_{side}"
    for name in ("load", "reps", "hold_s", "rir")
    for side in ("left", "right")
)
FIELDS = tuple(dict.fromkeys((*SET_FIELDS, *SIDED, *BODY_FIELDS)))
# Columns of logged_set that a file can fill, and of set_detail with the value that
# stands for not logged.
CORE = ("lifter", "performed_on", "name_key", "equipment", "load_kg", "reps", "rir",
        "failed")  # fmt: skip
DETAIL = {
    "side": "''", "on_body": "false", "load_counts": "''", "failed_at_deg": "NULL",
    "range_from_deg": "NULL", "range_to_deg": "NULL", "stance": "''",
    "rotation_deg": "NULL", "hold_s": "NULL", "angle_deg": "NULL", "tempo": "''",
    "pain": "NULL", "body_mass_kg": "NULL", "lean_deg": "NULL", "heave": "NULL",
    "note": "''",
}  # fmt: skip


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
