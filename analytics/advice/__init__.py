"""Next load, variant and range choice, cautions."""

from analytics.advice.attention import alerts, attention
from analytics.advice.capacity import Capacity, capacity
from analytics.advice.choice import (
    GOALS,
    modelled_reference,
    rank_variants,
    variant_facts,
)
from analytics.advice.clients import clients
from analytics.advice.doubts import (
    ASSUMED,
    PRIOR_ONLY,
    change_sentence,
    changes,
    doubts,
    in_fractions,
)
from analytics.advice.glance import last_session, lifts
from analytics.advice.lean import LeanStart, lean_start
from analytics.advice.loads import next_load, usual_step_kg
from analytics.advice.locking import lockout, lockout_pair
from analytics.advice.pain_notes import flag_notes, note_sentence
from analytics.advice.person import measured_body
from analytics.advice.repetitions import (
    by_repetitions,
    known_best,
    relation_curve,
    relation_sentence,
)
from analytics.advice.rules import advice_sources, cautions, direct_movement, rule
from analytics.advice.session import (
    REPS,
    RIR,
    session,
    split_cautions,
    usual_step,
)
from analytics.advice.technique import Technique, technique
from analytics.advice.volume import DirectWork, direct_work
from analytics.advice.warming import warm_up, warm_up_sentence

__all__ = [
    "ASSUMED",
    "GOALS",
    "PRIOR_ONLY",
    "REPS",
    "RIR",
    "Capacity",
    "DirectWork",
    "LeanStart",
    "Technique",
    "advice_sources",
    "alerts",
    "attention",
    "by_repetitions",
    "capacity",
    "cautions",
    "change_sentence",
    "changes",
    "clients",
    "direct_movement",
    "direct_work",
    "doubts",
    "flag_notes",
    "in_fractions",
    "known_best",
    "last_session",
    "lean_start",
    "lifts",
    "lockout",
    "lockout_pair",
    "measured_body",
    "modelled_reference",
    "next_load",
    "note_sentence",
    "rank_variants",
    "relation_curve",
    "relation_sentence",
    "rule",
    "session",
    "split_cautions",
    "technique",
    "usual_step",
    "usual_step_kg",
    "variant_facts",
    "warm_up",
    "warm_up_sentence",
]
