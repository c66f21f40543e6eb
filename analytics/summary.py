"""A result on one screen: a title, sentences and tables, as text and as HTML."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from html import escape

import pandas as pd

MOST_ROWS = 20  # of a table; the result itself has all


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Summary:
    """What a result says.

    Attributes
    ----------
    title : str
        One line.
    sentences : tuple of str
        What stands below it.
    tables : mapping of str to DataFrame
        By their captions.
    """

    title: str
    sentences: tuple[str, ...]
    tables: Mapping[str, pd.DataFrame]

    def __str__(self) -> str:
        """Give all of it as text."""
        parts = [self.title, *self.sentences]
        for caption, table in self._shown().items():
            parts += ["", caption, table.to_string(index=False, float_format="%.3g")]
        return "\n".join(parts)

    __repr__ = __str__

    def _repr_html_(self) -> str:
        """Give all of it as HTML; texts of people are escaped."""
        parts = [f"<h4>{escape(self.title)}</h4>"]
        parts += [f"<p>{escape(sentence)}</p>" for sentence in self.sentences]
        for caption, table in self._shown().items():
            parts.append(f"<h5>{escape(caption)}</h5>")
            parts.append(table.to_html(index=False, float_format="%.3g", border=0))
        return "\n".join(parts)

    def _shown(self) -> dict[str, pd.DataFrame]:
        """Tables with rows, cut with a word about the rest."""
        shown = {}
        for caption, table in self.tables.items():
            more = len(table) - MOST_ROWS
            if len(table):
                rest = f", and {more} more" if more > 0 else ""
                shown[caption + rest] = table.head(MOST_ROWS)
        return shown
