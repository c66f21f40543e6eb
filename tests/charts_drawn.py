"""Every figure, drawn from invented tables."""

import pandas as pd
from charts_tables import (
    ANKLE,
    BANDS,
    BASE,
    BATTERY,
    BODY,
    BY_REPETITIONS,
    CURVE,
    DIRECT,
    ELBOW,
    FAMILIES,
    GIRTH,
    LEAN,
    LEANS,
    LEFT_OUT,
    MEASURED,
    MOMENTS,
    MOVED,
    PERSONAL,
    POINTS,
    POWER,
    PULLED,
    RATIOS,
    REGIONS,
    RELATION,
    REP,
    REPS,
    RESIDUALS,
    RIVALS,
    SETUPS,
    SHARED,
    SHARES,
    SPANS,
    STICKING,
    TRACE,
    TREND,
    VIEW,
    WEEKLY,
    WEIGHTS,
    titled_view,
)

from analytics.charts import (
    balance,
    coaching,
    evidence,
    families,
    lift,
    limb,
    muscles,
    pulls,
    ratios,
    reps,
    sensitivity,
    strength,
    through_range,
    weighed,
)
from analytics.evidence import by_source
from analytics.mechanics import lift_balance
from analytics.mechanics.pulls.length import length_map, length_paths
from analytics.strength import latest

CHARTS = {
    "families": lambda: families.checks(FAMILIES),
    "pull_shares": lambda: pulls.shares(PULLED, finding="Curls ask more"),
    "pull_moments": lambda: pulls.through(MOMENTS, finding="60 N·m of the flexors"),
    "biceps_length": lambda: pulls.length_map(
        length_map(), length_paths(("barbell_row",)), finding="Rows change it less"
    ),
    "sharing": lambda: pulls.sharing(SHARED, finding="Balance leaves it open"),
    "shares": lambda: muscles.shares(SHARES, joint=ELBOW, title="Curl"),
    "spans": lambda: muscles.spans(SPANS, joint=ELBOW),
    "regions": lambda: muscles.regions(
        REGIONS, REGIONS.head(2), joint=ELBOW, finding="The band is bright"
    ),
    "torque_angle": lambda: weighed.torque_angle(BANDS, MEASURED, joint=ELBOW),
    "tornado": lambda: sensitivity.tornado(
        MOVED, joint=ELBOW, title="Curl", prediction="limit_load_ratio"
    ),
    "leans": lambda: limb.lean(LEANS),
    "weekly": lambda: coaching.weekly(WEEKLY, finding="Eight a week"),
    "girth": lambda: coaching.girth(GIRTH, finding="Girth rose a little"),
    "lean": lambda: coaching.lean(
        LEAN, start=0.8, needed=0.5, finding="Lean starts at 80 %"
    ),
    "over_time": lambda: strength.over_time(TREND, POINTS),
    "by_repetitions": lambda: strength.by_repetitions(
        BY_REPETITIONS, finding="known best at 2 repetitions"
    ),
    "battery": lambda: evidence.battery(BATTERY, finding="90 % hold"),
    "relation": lambda: strength.relation(RELATION, finding="as published"),
    "latest": lambda: strength.latest(latest(TREND)),
    "compared": lambda: strength.compared(
        pd.concat([TREND, TREND.assign(lifter="R08")]), by="lifter"
    ),
    "side_by_side": lambda: ratios.side_by_side(
        by_source({ratios.EVERYONE: RATIOS}, RATIOS),
        reference="the curl",
        finding="They overlap",
        compared_at="At 8. ",
    ),
    "personal": lambda: ratios.personal(PERSONAL),
    "moments": lambda: through_range.moments(CURVE, joint=ELBOW, finding="It is short"),
    "utilisation": lambda: through_range.utilisation(
        CURVE, STICKING.head(1), joint=ELBOW, joint_deg=90
    ),
    "hardest": lambda: through_range.hardest(STICKING, joint=ELBOW),
    "setups": lambda: through_range.setups(SETUPS),
    "rep": lambda: through_range.rep(REP, REPS, joint=ELBOW),
    "lift": lambda: lift.from_the_side(
        VIEW,
        CURVE,
        joint=ELBOW,
        joint_deg=90,
        range_deg=(0, 140),
        hardest="the load is hardest",
    ),
    "lift_of_the_body": lambda: lift.from_the_side(
        titled_view("standing_calf_raise"),
        CURVE.rename(columns={ELBOW.column: ANKLE.column}),
        joint=ANKLE,
        joint_deg=73,
        range_deg=(70, 118),
        hardest="the load is hardest",
    ),
    "balance": lambda: limb.balance(BODY, BASE, finding="No lean is needed"),
    "lift_balance": lambda: balance.over_progress(
        lift_balance("standing_barbell_curl", 40.0), joint=ELBOW
    ),
    "residuals": lambda: evidence.residuals(RESIDUALS),
    "weights": lambda: evidence.weights(WEIGHTS),
    "left_out": lambda: evidence.left_out(LEFT_OUT, winner="The model wins"),
    "sticking_ways": lambda: evidence.sticking_ways(
        STICKING, joint=ELBOW, verdict="They agree"
    ),
    "direct_points": lambda: evidence.direct_points(
        DIRECT, RIVALS, joint=ELBOW, nearest="flat"
    ),
    "power": lambda: evidence.power(POWER, finding="Found in 60 %"),
    "explorer": lambda: reps.explorer(
        TRACE, joint=ELBOW, panel="elbow_deg", finding="One repetition is found"
    ),
}


def luminance(colour: str) -> float:
    parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    red, green, blue = (
        part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4
        for part in parts
    )
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    dark, light = sorted((luminance(one), luminance(other)))
    return (light + 0.05) / (dark + 0.05)
