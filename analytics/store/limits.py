"""What no set, body or gym exceeds: common practice, no source.

Values outside are impossible, not unusual; unusual ones are flagged by the query
for sets and kept.
"""

from __future__ import annotations

from datetime import date

from analytics.store.fields import FIELDS

LOWEST = {f.column: float(f.limits[0]) for f in FIELDS.values() if f.limits}
HIGHEST = {f.column: float(f.limits[1]) for f in FIELDS.values() if f.limits}
FIRST_DAY = date(1950, 1, 1)
