"""Files as tables of text, within bounds: what logs and traces are read from."""

from analytics.tables.opening import open_sheets
from analytics.tables.scan import ACCEPTED, Scan, scan
from analytics.tables.sheets import EMPTY, LEAD, Row, Sheet

__all__ = ["ACCEPTED", "EMPTY", "LEAD", "Row", "Scan", "Sheet", "open_sheets", "scan"]
