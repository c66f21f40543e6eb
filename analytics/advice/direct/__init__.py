"""Direct arm work: what pulls and curls asked of the flexors, and is it enough."""

from analytics.advice.direct.answer import (
    Answer,
    by_variant,
    direct_answer,
    growth_evidence,
)
from analytics.advice.direct.kinds import without_share
from analytics.advice.direct.shares import COLUMNS, Shares, weekly_shares

__all__ = [
    "COLUMNS",
    "Answer",
    "Shares",
    "by_variant",
    "direct_answer",
    "growth_evidence",
    "weekly_shares",
    "without_share",
]
