"""Direct arm work: what pulls and curls asked of the flexors, and is it enough."""

from analytics.advice.direct.answer import Answer, direct_answer
from analytics.advice.direct.shares import COLUMNS, Shares, weekly_shares

__all__ = ["COLUMNS", "Answer", "Shares", "direct_answer", "weekly_shares"]
