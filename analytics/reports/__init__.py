"""Aggregate tables and client reports."""

from analytics.reports.client import find_browser, report_html, write_report
from analytics.reports.package import research_tables, write_tables

__all__ = [
    "find_browser",
    "report_html",
    "research_tables",
    "write_report",
    "write_tables",
]
