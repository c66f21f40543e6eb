"""Next load, variant and range choice, cautions."""

from analytics.advice.choice import (
    GOALS,
    modelled_reference,
    rank_variants,
    variant_facts,
)
from analytics.advice.clients import clients
from analytics.advice.lean import LeanStart, lean_start
from analytics.advice.loads import Capacity, capacity, next_load
from analytics.advice.locking import lockout, lockout_pair
from analytics.advice.person import measured_body
from analytics.advice.rules import advice_sources, cautions, direct_movement, rule
from analytics.advice.technique import Technique, technique
from analytics.advice.volume import DirectWork, direct_work
from analytics.advice.warming import warm_up, warm_up_sentence

__all__ = [
    "GOALS",
    "Capacity",
    "DirectWork",
    "LeanStart",
    "Technique",
    "advice_sources",
    "capacity",
    "cautions",
    "clients",
    "direct_movement",
    "direct_work",
    "lean_start",
    "lockout",
    "lockout_pair",
    "measured_body",
    "modelled_reference",
    "next_load",
    "rank_variants",
    "rule",
    "technique",
    "variant_facts",
    "warm_up",
    "warm_up_sentence",
]
