"""Reading people's files: columns, rows, names; nothing is guessed silently."""

from analytics.intake.by_hand import take_in_by_hand
from analytics.intake.column_map import ColumnMap, parse_column_map, read_column_map
from analytics.intake.correcting import read_correction
from analytics.intake.rejected import (
    dismiss_rejected,
    export_rejected,
    fix_rejected,
    rejected_table,
)
from analytics.intake.results import IntakeResult, RowIssue
from analytics.intake.suggesting import Suggestion, suggest_columns
from analytics.intake.take_in import take_in

__all__ = [
    "ColumnMap",
    "IntakeResult",
    "RowIssue",
    "Suggestion",
    "dismiss_rejected",
    "export_rejected",
    "fix_rejected",
    "parse_column_map",
    "read_column_map",
    "read_correction",
    "rejected_table",
    "suggest_columns",
    "take_in",
    "take_in_by_hand",
]
