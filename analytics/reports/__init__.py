"""Aggregate tables and client reports."""

from analytics.reports.client import report_html, write_report, write_reports
from analytics.reports.disclosure import read_key
from analytics.reports.guide import withheld_cells
from analytics.reports.package import DIFFERENCING, research_tables, write_tables
from analytics.reports.printing import pdf_of
from analytics.reports.reader import seen_by, withheld_words
from analytics.reports.session import session_html

__all__ = [
    "DIFFERENCING",
    "pdf_of",
    "read_key",
    "report_html",
    "research_tables",
    "seen_by",
    "session_html",
    "withheld_cells",
    "withheld_words",
    "write_report",
    "write_reports",
    "write_tables",
]
