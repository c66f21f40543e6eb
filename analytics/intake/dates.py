"""Reading dates; the order of day and month is proven by the file, or asked."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from functools import cache

from analytics.catalogue import normalise_name
from analytics.intake.cells import Refusal, words
from analytics.intake.numerals import odd_numeral, tidy
from analytics.store.limits import FIRST_DAY

ORDERS = ("dmy", "mdy", "iso")
_TIME = (
    r"(?:[T ,]+(?:um )?\d{1,2}[:.h]\d{2}(?:[:.]\d{2})?(?:[.,]\d+)?"
    r"\s?(?:am|pm|uhr)?\s?(?:Z|utc|[+-]\d{2}:?\d{2})?)?"
)
_NUMERIC = re.compile(
    rf"(\d{{1,2}})([./-])\s?(\d{{1,2}})\2\s?(\d{{4}}|\d{{2}}){_TIME}", re.I
)
_ISO = re.compile(rf"(\d{{4}})([./-]?)(\d{{1,2}})\2(\d{{1,2}}){_TIME}", re.I)
_SERIAL = re.compile(r"(\d{5})(?:\.\d+)?")
_SERIAL_RANGE = (18264, 80000)  # 1950 to 2119 as days of a spreadsheet


@dataclass(frozen=True, slots=True)
class OrderEvidence:
    """What the dates of one file say about the order of day and month.

    Attributes
    ----------
    day_first, month_first, either, year_first : str
        A date that can only be read so, one that can be read both ways, and one such
        as 25-01-06 that can begin with the year; empty if there is none.
    """

    day_first: str
    month_first: str
    either: str
    year_first: str


@cache
def _months() -> dict[str, int | None]:
    """Month names and their beginnings; None where two months begin alike."""
    known: dict[str, int | None] = {}
    full = {}
    for names in words()["months"].values():
        for number, name in enumerate(names, start=1):
            full[name] = number
            for length in range(3, len(name) + 1):
                before = known.setdefault(name[:length], number)
                if before != number:
                    known[name[:length]] = None
    return {**known, **full}


def order_evidence(texts: Iterable[str]) -> OrderEvidence:
    """Look for dates that can be read in one order only.

    Parameters
    ----------
    texts : iterable of str
        Date cells.

    Returns
    -------
    evidence : OrderEvidence
        One example of each kind.
    """
    day_first = month_first = either = year_first = ""
    year_last = False
    for text in texts:
        found = _NUMERIC.fullmatch(_bare(text))
        if not found:
            continue
        first, second = int(found[1]), int(found[3])
        if found[2] == "-" and len(found[4]) == 2:
            if isinstance(_built(2000 + first, second, int(found[4]), ""), Refusal):
                year_last = True
            else:
                year_first = year_first or text
        if first > 12 >= second:
            day_first = day_first or text
        elif second > 12 >= first:
            month_first = month_first or text
        elif first != second and max(first, second) <= 12:
            either = either or text
    return OrderEvidence(
        day_first, month_first, either, "" if year_last else year_first
    )


def _bare(text: str) -> str:
    """Date text without the name of the weekday."""
    body = tidy(text).strip("'\"")
    found = re.match(r"([^\W\d]{2,12})\.?,?\s+(?=\d|[^\W\d])", body)
    if found and normalise_name(found[1]) not in _months():
        return body[found.end() :]
    return body


def read_date(
    text: str, order: str, *, epoch: date = date(1899, 12, 30)
) -> date | Refusal:
    """Read one date.

    Parameters
    ----------
    text : str
        Cell, for example ``2025-01-06``, ``6.1.2025``, ``6 January 2025``, ``45663``.
    order : str
        ``dmy``, ``mdy`` or ``iso``; decides dates such as 06/01/2025.
    epoch : date
        Day 0 of spreadsheet serial numbers.

    Returns
    -------
    day : date or Refusal
        Local date.
    """
    body = _bare(text)
    if sign := odd_numeral(body):
        return Refusal(f"`{sign}` is no digit", "a date such as 2025-01-31")
    example = {"dmy": "31/01/2025", "mdy": "01/31/2025"}.get(order, "2025-01-31")
    if found := _ISO.fullmatch(body):
        return _built(int(found[1]), int(found[3]), int(found[4]), "2025-01-31")
    if found := _NUMERIC.fullmatch(body):
        first, second, year = int(found[1]), int(found[3]), int(found[4])
        if len(found[4]) == 2:
            year += 2000 if year < 70 else 1900
        if order == "iso" and found[2] == "-" and len(found[4]) == 2:
            return _built(2000 + first, second, int(found[4]), example)
        if order == "iso" and first != second:
            return Refusal(
                "a date that is not year-month-day", "a date such as 2025-01-31"
            )
        day, month = (second, first) if order == "mdy" else (first, second)
        return _built(year, month, day, example)
    if found := _SERIAL.fullmatch(body):
        if _SERIAL_RANGE[0] <= int(found[1]) <= _SERIAL_RANGE[1]:
            return epoch + timedelta(days=int(found[1]))
        return Refusal("not a date", f"a date such as {example}")
    return _with_month_name(body, example)


def _with_month_name(body: str, example: str) -> date | Refusal:
    parts = normalise_name(re.sub(rf"(?<=\d){_TIME}$", "", body, flags=re.I)).split()
    parts = [part for part in parts if part not in ("de", "of", "the", "den", "th")]
    parts = [re.sub(r"^(\d{1,2})(?:st|nd|rd|th|er|e)$", r"\1", part) for part in parts]
    numbers = [part for part in parts if part.isdigit()]
    named = [part for part in parts if part.isalpha() and len(part) >= 3]
    known = [_months().get(part) for part in named]
    months = [month for month in known if month]
    if len(numbers) == 2 and len(months) == 1 and len(parts) <= 4:
        year_at = 0 if len(numbers[0]) == 4 else 1
        year, day = int(numbers[year_at]), int(numbers[1 - year_at])
        if len(numbers[year_at]) == 2:
            year += 2000 if year < 70 else 1900
        return _built(year, months[0], day, example)
    return Refusal("not a date", f"a date such as {example}, with its year")


def _built(year: int, month: int, day: int, example: str) -> date | Refusal:
    if not 1 <= month <= 12:
        return Refusal(f"there is no month {month}", f"a date such as {example}")
    try:
        built = date(year, month, day)
    except ValueError:
        return Refusal("there is no such day", f"a date such as {example}")
    if not FIRST_DAY <= built <= date.today() + timedelta(days=1):
        word = "in the future" if built > date.today() else "too long ago"
        return Refusal(f"a date {word}", f"a day from {FIRST_DAY} to today")
    return built
