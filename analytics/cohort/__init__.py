"""A federation's logs on an engine for many machines: the same steps, part by part."""

from analytics.cohort.read import statistics_sql
from analytics.cohort.run import REFUSED, STEPS, run_cohort
from analytics.cohort.whole import Cohort, open_cohort

__all__ = ["REFUSED", "STEPS", "Cohort", "open_cohort", "run_cohort", "statistics_sql"]
