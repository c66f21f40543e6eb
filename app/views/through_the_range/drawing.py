"""What the drawing of the lift takes: its frames, and what is said of one of them."""

from dataclasses import replace
from functools import partial
from typing import Any

import pandas as pd

from analytics import mechanics
from analytics.catalogue import Joint
from analytics.charts import lift
from app.state import cached
from app.views.through_the_range.needs import Posture

LENGTHS = {
    "ascending": "too short",
    "plateau": "near its best",
    "descending": "too long",
}


def side_view(posture: Posture) -> mechanics.SideView:
    """Return the drawing of the lift, its muscles by their titles."""

    def make() -> mechanics.SideView:
        view = mechanics.side_view(posture.variant, body=posture.body)
        titles = dict(posture.joint.titles)
        names = view.muscles["muscle"]
        muscles = view.muscles.assign(
            title=names.map(lambda name: titles.get(name, name.replace("_", " "))),
            length=view.muscles["zone"].map(LENGTHS),
        )
        return replace(view, muscles=muscles)

    return cached("side_view", posture.unloaded, make)


def at_angle(
    curve: pd.DataFrame, joint: Joint, joint_deg: int
) -> tuple[pd.DataFrame, str]:
    """Return the row of one angle and what it says in words."""
    row = curve[curve[joint.column].round() == joint_deg]
    if row.empty:
        return row, "the chosen range is left"
    use = row["utilisation"].iloc[0]
    if use > 1:
        return row, "the load is more than the muscles can give"
    return row, f"the load takes {use:.0%} of what the muscles can give"


def drawn(
    posture: Posture, curve: pd.DataFrame, *, hardest: str, joint: Joint, joint_deg: int
) -> partial[Any]:
    """Return the drawing of the lift with its muscles."""
    said = {"joint": joint, "joint_deg": joint_deg, "hardest": hardest}
    view, span = side_view(posture), posture.range_deg
    return partial(lift.from_the_side, view, curve, range_deg=span, **said)
