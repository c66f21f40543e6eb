"""What anatomy and physics say about a posture, a load and a range.

Pure functions of the catalogue; no logs, no store, no screens. Quasi-static, in
the sagittal plane, one working arm.
"""

from analytics.catalogue import Body, make_body
from analytics.mechanics.balance import (
    LEAN_IS_BALANCE,
    SUPPORT_HOLDS,
    balance,
    balance_figure,
)
from analytics.mechanics.curves import CURVES, active_force, passive_force
from analytics.mechanics.demand import demand
from analytics.mechanics.draws import structures
from analytics.mechanics.fibres import (
    family_shares,
    fibre_spans,
    strong_regions,
    strong_sentence,
)
from analytics.mechanics.isometric import strength_at_angle
from analytics.mechanics.joints import angle_column, muscle_work
from analytics.mechanics.lift_balance import lift_balance
from analytics.mechanics.pictured import (
    all_out_reps,
    leans,
    pad_starts,
)
from analytics.mechanics.predictions import hardest, limit_sentences, log_ratio_draws
from analytics.mechanics.rep import DynamicRep, dynamic_rep
from analytics.mechanics.sensitivity import sensitivity, sensitivity_ends
from analytics.mechanics.setups import search_setups, sweep_setups
from analytics.mechanics.shapes import LEVERAGE, MILD, SHAPES
from analytics.mechanics.side_view import side_view
from analytics.mechanics.speed import speed_sentence
from analytics.mechanics.through import through_range, used_fully_once
from analytics.scene import SideView

__all__ = [
    "CURVES",
    "LEAN_IS_BALANCE",
    "LEVERAGE",
    "MILD",
    "SHAPES",
    "SUPPORT_HOLDS",
    "Body",
    "DynamicRep",
    "SideView",
    "active_force",
    "all_out_reps",
    "angle_column",
    "balance",
    "balance_figure",
    "demand",
    "dynamic_rep",
    "family_shares",
    "fibre_spans",
    "hardest",
    "leans",
    "lift_balance",
    "limit_sentences",
    "log_ratio_draws",
    "make_body",
    "muscle_work",
    "pad_starts",
    "passive_force",
    "search_setups",
    "sensitivity",
    "sensitivity_ends",
    "side_view",
    "speed_sentence",
    "strength_at_angle",
    "strong_regions",
    "strong_sentence",
    "structures",
    "sweep_setups",
    "through_range",
    "used_fully_once",
]
