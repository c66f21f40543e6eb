"""A lift from the side: body, equipment, muscles and moment arms, frame by frame."""

from typing import Any

import altair as alt
import pandas as pd

from analytics.catalogue import Joint
from analytics.charts import theme
from analytics.scene import SideView

_WIDTH_PX = 285  # a phone's, with room for the numbers of the axis
_SAID_PX = 72  # four lines of numbers above the drawing
_NEAR_M = ((-0.17, 0.23), (-0.17, 0.17))  # seen of the joint from near
_PULL = theme.FOURTH
_HIGHEST_PX = 430
_ARMS = {
    "moment arm of the load": theme.MODELLED,
    "moment arm of the muscle": theme.ESTIMATED,
}
_FORCE = alt.Scale(scheme="cividis", domain=[0.4, 1.0], clamp=True)
_LINE: dict[str, Any] = {"strokeJoin": "round", "strokeCap": "round", "clip": True}
_DOT: dict[str, Any] = {
    "color": theme.MEASURED,
    "filled": False,
    "strokeWidth": 3,
    "shape": "circle",
    "opacity": 1,
    "clip": True,
}
_Ends = tuple[float, float]


def from_the_side(
    view: SideView,
    curve: pd.DataFrame,
    *,
    joint: Joint,
    joint_deg: float,
    range_deg: tuple[int, int],
    hardest: str,
) -> alt.VConcatChart:
    """Draw a lift from the side, its muscles and moment arms, to be played.

    Parameters
    ----------
    view : SideView
        All that is drawn, frame by frame; `muscles` with `title` and `length` in words.
    curve : DataFrame
        The joint's angle and `utilisation` in the chosen range.
    joint : Joint
        Whose angle.
    joint_deg : float
        The frame that is shown first. [deg]
    range_deg : tuple of int
        What is played, from the frame next to it. [deg]
    hardest : str
        What the model says of the first frame, in words.
    """
    box = alt.binding_checkbox(name="Play through the lift ")
    params = (
        alt.param("at_deg", value=joint_deg),
        alt.param("play", value=False, bind=box),
    )
    frames = view.arms[joint.column].to_numpy()
    first, last = (float(frames[abs(frames - end).argmin()]) for end in range_deg)
    step = float(frames[1] - frames[0])
    run = theme.played("at_deg", "play", first=first, last=last, step=step)
    panels = _whole(view, curve, joint), _near(view, joint), _bars(view.muscles, joint)
    return theme.titled(
        alt.vconcat(*panels).add_params(*params).properties(usermeta=run),
        f"At {joint.flexed(joint_deg)} {hardest}",
        "Modelled and to scale, below it the joint from near. Dashed: the line of "
        f"{view.pull}. Dotted: the moment arms of load and {joint.main_title}, square "
        "to their lines of pull. Muscles, one set as published, pass the joint at "
        "their moment arms; where they begin and end is schematic. The brighter and "
        "thicker, the nearer their best length.",
        description=f"Lift from the side at {joint_deg:.0f}°: body, equipment, muscles "
        "and moment arms.",
    )


def _whole(view: SideView, curve: pd.DataFrame, joint: Joint) -> Any:
    across, up, px_per_m = _frame(view)
    ahead = f"Forward of the {view.seen_from} [m]"
    place = _place(across, up, ahead, "Above the floor [m]")
    fixed, moving = view.fixed, view.moving
    held = moving[(moving["part"] == "line of pull") & (moving["order"] == 1)]
    ring = _dots(held, "line of pull", place, px_per_m * view.ring_m, color=_PULL)
    pull = {"color": _PULL, "strokeDash": [6, 3]}
    shown = alt.layer(
        *(_line(fixed, part, place, 7, opacity=0.6) for part in ("pad", "bench")),
        _line(fixed, "legs", place, 16, opacity=0.3, strokeCap="butt"),
        _line(fixed, "trunk", place, 24, opacity=0.3),
        _dots(fixed, "head", place, px_per_m * 0.1, filled=True, opacity=0.3),
        _line(moving, "thigh", place, 16, joint, opacity=0.3),
        *(_line(moving, part, place, 8, joint, opacity=0.55) for part in view.bones),
        _line(moving, "cable", place, 2, joint, color=_PULL),
        _line(moving, "line of pull", place, 1.5, joint, **pull),
        _dots(fixed, "anchor", place, 6, color=_PULL, shape="square"),
        *_flesh(view.muscles, place, joint, 0.8),
        *_moment_arms(moving, place, joint),
        ring.transform_filter(_now(joint)),
        *_said(view.arms, curve, joint),
    )
    return shown.properties(width=_WIDTH_PX, height=px_per_m * (up[1] - up[0]))


def _near(view: SideView, joint: Joint) -> Any:
    """Draw the joint from near: everything is counted from it."""
    column, moving = joint.column, view.moving
    centre = moving[(moving["part"] == view.bones[1]) & (moving["order"] == 0)]
    centre = centre.set_index(column)

    def from_joint(rows: pd.DataFrame) -> pd.DataFrame:
        near = {at: rows[at] - rows[column].map(centre[at]) for at in ("x_m", "y_m")}
        return rows.assign(**near)

    name, (across, up) = joint.title.lower(), _NEAR_M
    place = _place(across, up, f"Forward of the {name} [m]", f"Above the {name} [m]")
    lines = from_joint(moving)
    shown = alt.layer(
        *(_line(lines, part, place, 20, joint, opacity=0.45) for part in view.bones),
        *_flesh(from_joint(view.muscles), place, joint, 1.4),
        *_moment_arms(lines, place, joint),
    )
    high = _WIDTH_PX * (up[1] - up[0]) / (across[1] - across[0])
    return shown.properties(width=_WIDTH_PX, height=high)


def _now(joint: Joint) -> str:
    return f"datum.{joint.column} == at_deg"


def _place(across: _Ends, up: _Ends, ahead: str, above: str) -> dict[str, Any]:
    """Return the channels of a point in metres, seen between two ends."""
    return {
        name: channel(
            f"{name}_m:Q",
            title=title,
            scale=alt.Scale(domain=list(ends), nice=False, zero=False),
            axis=alt.Axis(tickCount=5, grid=False),
        )
        for name, channel, title, ends in (
            ("x", alt.X, ahead, across),
            ("y", alt.Y, above, up),
        )
    }


def _frame(view: SideView) -> tuple[_Ends, _Ends, float]:
    """Return what is seen across and up in metres, and pixels per metre."""
    body = view.fixed[view.fixed["part"] != "legs"]
    seen = pd.concat([body, view.moving[view.moving["part"] != "line of pull"]])
    margin_m = 0.14
    left, right = seen["x_m"].min() - margin_m, seen["x_m"].max() + margin_m
    low = max(-0.05, seen["y_m"].min() - margin_m)
    high = seen["y_m"].max() + margin_m
    px_per_m = min(_WIDTH_PX / (right - left), _HIGHEST_PX / (high - low))
    middle, half = (left + right) / 2, _WIDTH_PX / px_per_m / 2
    return (middle - half, middle + half), (low, high + _SAID_PX / px_per_m), px_per_m


def _line(
    rows: pd.DataFrame,
    part: str,
    place: dict[str, Any],
    width: float,
    joint: Joint | None = None,
    **mark: Any,
) -> alt.Chart:
    """Return the line of a part, of one frame where it moves."""
    chosen = alt.Chart(rows[rows["part"] == part])
    if joint is not None:
        chosen = chosen.transform_filter(_now(joint))
    style = {**_LINE, "color": theme.MEASURED, "strokeWidth": width, **mark}
    return chosen.mark_line(aria=False, **style).encode(
        order=alt.Order("order:Q"), **place
    )


def _dots(
    rows: pd.DataFrame,
    part: str,
    place: dict[str, Any],
    radius_px: float,
    **mark: Any,
) -> alt.Chart:
    """Return circles of a radius, or other signs of that size."""
    style = {**_DOT, "size": 3.14 * radius_px**2, **mark}
    chosen = alt.Chart(rows[rows["part"] == part])
    return chosen.mark_point(aria=False, **style).encode(**place)


def _flesh(
    muscles: pd.DataFrame, place: dict[str, Any], joint: Joint, scale: float
) -> list[alt.Chart]:
    """Return muscles with an edge that shows them on light and dark."""
    wide = scale * (1 + 5 * ((muscles["active"] - 0.4) / 0.6).clip(0, 1))
    rows = muscles.assign(wide_px=wide, edge_px=wide + 2)
    base = alt.Chart(rows).transform_filter(_now(joint))
    who = {"detail": alt.Detail("muscle:N"), "order": alt.Order("order:Q"), **place}

    def thick(field: str) -> alt.Size:  # of a line, its width
        return alt.Size(f"{field}:Q", scale=None, legend=None)

    edge, inside = (
        base.mark_line(color=theme.MEASURED, **_LINE),
        base.mark_line(**_LINE),
    )
    colour = alt.Color("active:Q", scale=_FORCE, legend=None)
    return [
        edge.encode(size=thick("edge_px"), **who),
        inside.encode(color=colour, size=thick("wide_px"), tooltip=_told(joint), **who),
    ]


def _moment_arms(
    moving: pd.DataFrame, place: dict[str, Any], joint: Joint
) -> list[alt.Chart]:
    return [
        _line(moving, part, place, 3, joint, color=hue, strokeDash=[1, 4])
        for part, hue in _ARMS.items()
    ]


def _told(joint: Joint) -> list[alt.Tooltip]:
    return [
        alt.Tooltip("title:N", title="Muscle"),
        theme.angle(joint),
        alt.Tooltip("length:N", title="Length"),
        alt.Tooltip("fibre_length:Q", title="Length ÷ best", format=".2f"),
        alt.Tooltip("active:Q", title="Force at this length ÷ best", format=".1%"),
    ]


def _said(arms: pd.DataFrame, curve: pd.DataFrame, joint: Joint) -> list[alt.Chart]:
    """Return the numbers of a frame, above the drawing."""
    column = joint.column
    used = curve[[column, "utilisation"]].assign(**{column: curve[column].round()})
    rows = arms.merge(used, on=column, how="left")
    rows = rows.assign(
        angle=[f"{joint.title} {deg:.0f}°" for deg in rows[column]],
        load=[f"load's moment arm {100 * m:.1f} cm" for m in rows["load_arm_m"]],
        muscle=[
            f"moment arm of the {joint.main_title} {100 * m:.1f} cm"
            for m in rows["muscle_arm_m"]
        ],
        used=[
            "" if pd.isna(frac) else f"{100 * frac:.0f} % of what the muscles can give"
            for frac in rows["utilisation"]
        ],
    )
    base = alt.Chart(rows).transform_filter(_now(joint))
    dots = [
        base.mark_text(text="•••", align="left", fontSize=15, color=hue).encode(
            x=alt.value(6), y=alt.value(26 + 16 * i)
        )
        for i, hue in enumerate(_ARMS.values())
    ]
    bold, plain = (
        base.mark_text(align="left", fontWeight=600),
        base.mark_text(align="left"),
    )
    words = [
        mark.encode(
            x=alt.value(across), y=alt.value(10 + 16 * i), text=alt.Text(f"{name}:N")
        )
        for i, (name, across, mark) in enumerate(
            (
                ("angle", 6, bold),
                ("load", 32, plain),
                ("muscle", 32, plain),
                ("used", 6, plain),
            )
        )
    ]
    return [*dots, *words]


def _bars(muscles: pd.DataFrame, joint: Joint) -> Any:
    """Draw how much force each muscle has at its length, in words too."""
    rows = muscles[muscles["order"] == 0]
    rows = rows.assign(words=rows["title"] + ", " + rows["length"])
    axis = alt.Axis(format="%", values=[0, 0.5, 1], titleAnchor="start", grid=False)
    base = (
        alt.Chart(rows)
        .transform_filter(_now(joint))
        .encode(
            x=alt.X(
                "active:Q",
                title="Force at this length ÷ best [%]",
                scale=alt.Scale(domain=[0, 3], nice=False),  # words stand beside it
                axis=axis,
            ),
            y=alt.Y("title:N", sort=None, axis=None),
            tooltip=_told(joint),
        )
    )
    bars = base.mark_bar(height=11, stroke=theme.MEASURED).encode(
        color=alt.Color("active:Q", scale=_FORCE, legend=None)
    )
    words = base.mark_text(align="left", dx=5).encode(text=alt.Text("words:N"))
    return alt.layer(bars, words).properties(width=_WIDTH_PX, height=alt.Step(19))
