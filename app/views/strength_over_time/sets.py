"""The sets behind a strength: listed, or edited and deleted with a history."""

from analytics.strength import StrengthFit
from app import correcting, figure, fits
from app.views.strength_over_time import needs


def listed(fit: StrengthFit, lifter: str, setup: str) -> None:
    """List the sets of one series, and left against right."""
    figure.table(
        needs.set_table(fit, lifter, setup),
        name=f"sets_{lifter}_{setup}",
        note="Measured: load, repetitions, reserve. Estimated: the 1RM each implies, "
        "how far off the curve it lies, and how much it moves the curve.",
    )
    sides = fits.of(fit.sides, lifter, setup)
    if len(sides):
        note = "Left against right, estimated, 90 % interval."
        figure.table(sides, name=f"sides_{lifter}_{setup}", note=note)


def corrected(lifter: str, variant: str) -> None:
    """Draw one lifter's stored sets in one variant to be corrected."""
    correcting.told()
    correcting.editor(
        needs.stored_sets(lifter, variant), key=f"correct_{lifter}_{variant}"
    )
    changes = needs.corrections(lifter)
    if len(changes):
        figure.table(changes, name="corrections", note="Corrected so far.")
