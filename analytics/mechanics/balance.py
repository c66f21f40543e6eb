"""Balance: where the centre of mass of body and load falls over the feet.

Static and in the sagittal plane: x forward of the ankles (midway between them in a
split stance), y up from the floor. The hardest instant is drawn: upper arms hanging,
load held out at its reach.
"""

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analytics.catalogue import BODY_MASS_KG, STATURE_M, Body, load_catalogue, make_body
from analytics.errors import InputError

STANCES = ("parallel", "split", "supported")
LEAN_IS_BALANCE = (
    "Leaning back keeps the centre of mass of body and load over the feet: it is "
    "balance, needed above the largest load for the stance, and the same at rest. The "
    "lean shown turns the body as one rigid piece about the ankles and is a lower "
    "bound: by bending the back, the same shift takes a larger angle. Cheating is "
    "another thing: the body swings to get the load moving, and it shows as speed "
    "before the forearm moves."
)
SUPPORT_HOLDS = (
    "Supported, with the upper arms on a pad that stands on the floor, the load "
    "passes into the pad: balance over the feet does not limit it, no lean is needed."
)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Standing:
    """Masses of a standing body, forearms level, before the load.

    Attributes
    ----------
    mass_kg, x_m, y_m : ndarray, shape (n,)
        Segments that turn about the ankles, in natural stance.
    feet_kg, feet_x_m : float
        Both feet, which stay.
    load_x_m, load_y_m : float
        Where the load is held.
    sway_rad : float
        Forward inclination of the natural stance.
    """

    mass_kg: NDArray[np.float64]
    x_m: NDArray[np.float64]
    y_m: NDArray[np.float64]
    feet_kg: float
    feet_x_m: float
    load_x_m: float
    load_y_m: float
    sway_rad: float

    @property
    def own_kg_m(self) -> float:
        """First moment of the body ahead of the ankles."""
        return float(self.mass_kg @ self.x_m + self.feet_kg * self.feet_x_m)


def balance(
    load_kg: float,
    *,
    body_mass_kg: float = BODY_MASS_KG,
    stature_m: float = STATURE_M,
    reach_m: float | None = None,
    sex: str | None = None,
) -> pd.DataFrame:
    r"""Set stance against lean: what each base of support carries.

    Parameters
    ----------
    load_kg : float
        Total load held in front. [kg]
    body_mass_kg : float
        Body mass. [kg]
    stature_m : float
        Standing height. [m]
    reach_m : float, optional
        Load ahead of the ankles in the natural stance; with the upper arm hanging from
        the shoulder and the forearm level if not given, 0.40 at 1.75 of stature. [m]
    sex : str, optional
        ``female`` or ``male`` for the segment tables of one sex.

    Returns
    -------
    stances : DataFrame
        ``stance, centre_of_mass_m, base_front_m, margin_m, lean_deg,
        largest_load_kg`` for parallel, split and supported. Centre of mass of body and
        load in the natural stance; margin is what is left to the front of the base,
        negative beyond it; lean is backward from the natural stance, 0 where none is
        needed, NaN where no lean is enough; the largest load needs no lean, infinite
        where the load is held over the base. Supported has no base of its own: NaN.

    Raises
    ------
    InputError
        If the load is negative or a size is not positive.

    Notes
    -----
    .. math:: x = \frac{\sum m_i x_i + m_L x_L}{M + m_L}

    The front of the base is at the first metatarsophalangeal joints, not at the toes.
    Lean turns the whole body, arms and load with it, about the ankles as one piece; by
    bending the back instead, the same shift of mass takes a larger angle. The load
    stays in the hands, so leaning brings it back too.

    References
    ----------
    winter_2009; de_leva_1996; stance table.
    """
    body = make_body(body_mass_kg=body_mass_kg, stature_m=stature_m, sex=sex)
    stand = _standing(body, _checked_reach(load_kg, reach_m, body))
    own = stand.own_kg_m
    centre = (own + load_kg * stand.load_x_m) / (body.mass_kg + load_kg)
    rows: list[tuple[str, float, float, float, float, float]] = []
    for stance in STANCES:
        if stance == "supported":
            rows.append((stance, centre, np.nan, np.nan, 0.0, np.inf))
            continue
        front = base_m(body, stance)[1]
        beyond = stand.load_x_m - front
        largest = (body.mass_kg * front - own) / beyond if beyond > 0 else np.inf
        lean = _lean_deg(stand, load_kg, front) if centre > front else 0.0
        rows.append((stance, centre, front, front - centre, lean, max(largest, 0.0)))
    return pd.DataFrame(
        rows,
        columns=[
            "stance", "centre_of_mass_m", "base_front_m", "margin_m", "lean_deg",
            "largest_load_kg",
        ],
    )  # fmt: skip


def balance_figure(
    load_kg: float,
    *,
    stance: str = "parallel",
    lean_deg: float | None = None,
    body_mass_kg: float = BODY_MASS_KG,
    stature_m: float = STATURE_M,
    reach_m: float | None = None,
    sex: str | None = None,
) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Draw body, load, base of support and centre of mass, to scale.

    Parameters
    ----------
    load_kg : float
        Total load held in front. [kg]
    stance : str
        ``parallel`` or ``split``.
    lean_deg : float, optional
        Backward lean drawn; what the load needs if not given. [deg]
    body_mass_kg : float
        Body mass. [kg]
    stature_m : float
        Standing height. [m]
    reach_m : float, optional
        Load ahead of the ankles. [m]
    sex : str, optional
        ``female`` or ``male``.

    Returns
    -------
    body : DataFrame
        ``part, order, x_m, y_m``: segments as lines, part ``load`` as one point.
    base : DataFrame
        One row: ``stance, base_back_m, base_front_m, centre_of_mass_m, lean_deg``.

    Raises
    ------
    InputError
        If the stance has no base to draw or a size is impossible.
    """
    if stance not in STANCES[:2]:
        raise InputError(f"no base to draw for {stance!r}; there are: parallel, split")
    body = make_body(body_mass_kg=body_mass_kg, stature_m=stature_m, sex=sex)
    stand = _standing(body, _checked_reach(load_kg, reach_m, body))
    back, front = base_m(body, stance)
    if lean_deg is None:
        centre = (stand.own_kg_m + load_kg * stand.load_x_m) / (body.mass_kg + load_kg)
        lean_deg = _lean_deg(stand, load_kg, front) if centre > front else 0.0
    turn = stand.sway_rad - np.deg2rad(0.0 if np.isnan(lean_deg) else lean_deg)
    lines = _outline(body, stand, stance)
    for points in lines.values():
        upper = points[:, 1] > 0
        points[upper] = turned(points[upper], turn)
    load = turned(np.array([[stand.load_x_m, stand.load_y_m]]), turn - stand.sway_rad)
    lines["load"] = load
    rows = [
        (part, order, x, y)
        for part, points in lines.items()
        for order, (x, y) in enumerate(points)
    ]
    moved = turned(np.column_stack([stand.x_m, stand.y_m]), turn - stand.sway_rad)
    total = body.mass_kg + load_kg
    centre = (
        stand.mass_kg @ moved[:, 0]
        + stand.feet_kg * stand.feet_x_m
        + load_kg * load[0, 0]
    ) / total
    base = pd.DataFrame(
        [(stance, back, front, centre, lean_deg)],
        columns=[
            "stance",
            "base_back_m",
            "base_front_m",
            "centre_of_mass_m",
            "lean_deg",
        ],
    )
    return pd.DataFrame(rows, columns=["part", "order", "x_m", "y_m"]), base


def _checked_reach(load_kg: float, reach_m: float | None, body: Body) -> float | None:
    if not (np.isfinite(load_kg) and load_kg >= 0):
        raise InputError(f"load_kg must be 0 or more, got {load_kg:g}")
    if reach_m is not None and not 0 < reach_m <= 0.5 * body.stature_m:
        raise InputError(
            f"reach_m must be more than 0 and at most an arm's length, "
            f"{0.5 * body.stature_m:.2f} for this stature, got {reach_m:g}"
        )
    return reach_m


def _stance(quantity: str) -> float:
    table = load_catalogue().tables["stance"]
    return float(table.numbers("value")[table.columns["quantity"].index(quantity)])


def base_m(body: Body, stance: str) -> tuple[float, float]:
    """Back and front of the base of support, forward of the middle of the ankles."""
    foot, ankle = body.length_m["foot"], _stance("ankle_from_heel")
    half = 0.0
    if stance == "split":
        half = 0.5 * _stance("split_heel_to_heel") * body.stature_m
    ahead = _stance("metatarsophalangeal_from_heel") - ankle
    return -half - ankle * foot, half + ahead * foot


def joint_heights_m(body: Body) -> dict[str, float]:
    """Heights of the joints of an upright body; the ankle carries the turning."""
    size, hip = body.length_m, body.length_m["hip_height"]
    return {
        "knee": hip - size["thigh"],
        "hip": hip,
        "shoulder": size["shoulder_height"],
        "forearm": size["shoulder_height"] - size["upper_arm"],
        "head": _stance("head_centre_height") * body.stature_m,
        "top": body.stature_m,
    }


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Upright:
    """A straight body with hanging arms, before it sways into the natural stance.

    Attributes
    ----------
    mass_kg, y_m : ndarray, shape (5,)
        Shanks, thighs, trunk, head, upper arms, and their heights above the ankles.
    feet_kg, feet_x_m : float
        Both feet, which stay.
    forearm_kg, forearm_m : float
        One forearm with its hand, and its centre along it.
    sway_rad : float
        Forward inclination of the natural stance.
    """

    mass_kg: NDArray[np.float64]
    y_m: NDArray[np.float64]
    feet_kg: float
    feet_x_m: float
    forearm_kg: float
    forearm_m: float
    sway_rad: float


def upright(body: Body) -> Upright:
    """Stack the segments of a body over its ankles.

    Parameters
    ----------
    body : Body
        Segment sizes.

    Returns
    -------
    upright : Upright
    """
    at, size, com = joint_heights_m(body), body.length_m, body.com_frac
    kg = body.segment_kg
    column = [
        (2 * kg["shank"], at["knee"] - com["shank"] * size["shank"]),
        (2 * kg["thigh"], at["hip"] - com["thigh"] * size["thigh"]),
        (kg["trunk"], at["shoulder"] - com["trunk"] * size["trunk"]),
        (kg["head_neck"], at["head"]),
        (2 * kg["upper_arm"], at["shoulder"] - com["upper_arm"] * size["upper_arm"]),
    ]
    mass, y = np.array(column).T
    forearm_kg = kg["forearm"] + kg["hand"]
    forearm_m = body.forearm_and_hand_kg_m / forearm_kg
    # The published masses add up to 1 within their rounding; the feet close it.
    feet_kg = body.mass_kg - mass.sum() - 2 * forearm_kg
    feet_x = (com["foot"] - _stance("ankle_from_heel")) * size["foot"]
    want = _stance("natural_com_ahead_of_ankle") * body.stature_m * body.mass_kg
    above = mass @ y + 2 * forearm_kg * (at["forearm"] - forearm_m)
    return Upright(
        mass_kg=mass,
        y_m=y,
        feet_kg=float(feet_kg),
        feet_x_m=float(feet_x),
        forearm_kg=forearm_kg,
        forearm_m=forearm_m,
        sway_rad=float(np.arcsin((want - feet_kg * feet_x) / above)),
    )


def _standing(body: Body, reach_m: float | None) -> _Standing:
    """Place the segments: a straight column, arms hanging, then forearms level."""
    body_up, bend_m = upright(body), joint_heights_m(body)["forearm"]
    points = [*((0.0, y) for y in body_up.y_m), (body_up.forearm_m, bend_m)]
    placed = turned(np.array(points), body_up.sway_rad)
    grip = turned(np.array([[body.grip_m, bend_m]]), body_up.sway_rad)[0]
    return _Standing(
        mass_kg=np.append(body_up.mass_kg, 2 * body_up.forearm_kg),
        x_m=placed[:, 0],
        y_m=placed[:, 1],
        feet_kg=body_up.feet_kg,
        feet_x_m=body_up.feet_x_m,
        load_x_m=float(grip[0]) if reach_m is None else reach_m,
        load_y_m=float(grip[1]),
        sway_rad=body_up.sway_rad,
    )


def turned(points: NDArray[np.float64], forward_rad: float) -> NDArray[np.float64]:
    """Points turned about the ankles, forward positive."""
    c, s = np.cos(forward_rad), np.sin(forward_rad)
    return points @ np.array([[c, -s], [s, c]])


def _lean_deg(stand: _Standing, load_kg: float, front_m: float) -> float:
    r"""Backward turn that brings the centre of mass to the front of the base.

    :math:`A\cos\varphi - B\sin\varphi = C` with the first moments A ahead of and B
    above the ankles of all that turns, and C what the base allows.
    """
    ahead = stand.mass_kg @ stand.x_m + load_kg * stand.load_x_m
    above = stand.mass_kg @ stand.y_m + load_kg * stand.load_y_m
    total = stand.mass_kg.sum() + stand.feet_kg + load_kg
    allowed = total * front_m - stand.feet_kg * stand.feet_x_m
    size = np.hypot(ahead, above)
    if abs(allowed) > size:
        return float("nan")
    lean = np.arccos(allowed / size) - np.arctan2(above, ahead)
    return float(np.rad2deg(lean))


def _outline(
    body: Body, stand: _Standing, stance: str
) -> dict[str, NDArray[np.float64]]:
    """Segments as lines before turning; points on the floor stay."""
    at, foot = joint_heights_m(body), body.length_m["foot"]
    heel = -_stance("ankle_from_heel") * foot
    half = 0.0
    if stance == "split":
        half = 0.5 * _stance("split_heel_to_heel") * body.stature_m
    hip = (0.0, at["hip"])
    grip = turned(np.array([[stand.load_x_m, stand.load_y_m]]), -stand.sway_rad)[0]
    lines = {
        "trunk": [hip, (0.0, at["shoulder"])],
        "head": [(0.0, at["shoulder"]), (0.0, at["top"])],
        "upper arm": [(0.0, at["shoulder"]), (0.0, at["forearm"])],
        "forearm": [(0.0, at["forearm"]), tuple(grip)],
    }
    sides = [("", 0.0)] if not half else [("front ", half), ("rear ", -half)]
    for name, x in sides:
        lines[f"{name}foot"] = [(x + heel, 0.0), (x + heel + foot, 0.0)]
        lines[f"{name}leg"] = [(x, 0.0), hip]
    return {part: np.array(points, dtype=float) for part, points in lines.items()}
