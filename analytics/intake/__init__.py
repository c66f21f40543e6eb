"""Reading people's files: columns, rows, names; nothing is guessed silently."""

from analytics.intake.column_map import ColumnMap, parse_column_map, read_column_map
from analytics.intake.planning import Suggestion, suggest_columns
from analytics.intake.repair import aside_table, export_aside, repair_aside
from analytics.intake.results import IntakeResult, RowIssue
from analytics.intake.take_in import take_in

__all__ = [
    "ColumnMap",
    "IntakeResult",
    "RowIssue",
    "Suggestion",
    "aside_table",
    "export_aside",
    "parse_column_map",
    "read_column_map",
    "repair_aside",
    "suggest_columns",
    "take_in",
]
