"""A setup: what strength is told of, as one value instead of a text to be read back."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Any

End = float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Setup:
    """A variant on one piece of equipment, over one range or held at one angle.

    Attributes
    ----------
    variant : str
        Identifier.
    equipment : str
        Machine or station; empty where it does not matter.
    range_deg : tuple of float or None
        First and last joint angle, an end None where it was not logged; None for the
        variant's own range. [deg]
    hold : tuple of float or None
        Angle held, and the angle it is set against; None for a moving lift. [deg]
    """

    variant: str
    equipment: str = ""
    range_deg: tuple[End, End] | None = None
    hold: tuple[float, float] | None = None

    @classmethod
    def of(cls, row: Mapping[str, Any]) -> Setup:
        """Read a row with ``variant, range_from_deg, range_to_deg`` and, if any, more.

        An empty range, or one of NaN, is the variant's own.
        """
        ends = (_known(row["range_from_deg"]), _known(row["range_to_deg"]))
        return cls(
            variant=str(row["variant"]),
            equipment=str(row.get("equipment") or ""),
            range_deg=None if ends == (None, None) else ends,
        )

    @property
    def span(self) -> tuple[float, float] | None:
        """Range as mechanics takes it: equal ends for a hold, None for its own."""
        if self.hold is not None:
            return self.hold[0], self.hold[0]
        if self.range_deg is None or None in self.range_deg:
            return None
        return self.range_deg  # type: ignore[return-value]

    @property
    def base(self) -> Setup:
        """What a hold is set against."""
        if self.hold is None:
            return self
        against = self.hold[1]
        return Setup(variant=self.variant, hold=(against, against))

    @property
    def plain(self) -> Setup:
        """The same on any equipment, which mechanics does not tell apart."""
        return replace(self, equipment="")

    @property
    def key(self) -> str:
        """Text that tells it from every other setup."""
        return self._written(self.variant, " @ ", "[{}:{}]", " : ", "nan")

    def __str__(self) -> str:
        """Give the key."""
        return self.key

    def in_words(self, title: str = "") -> str:
        """Say it: under a title of the variant, station, range and hold in words."""
        form = "({}–{}°)"
        if self.range_deg is not None and None in self.range_deg:
            form = "(to {1}°)" if self.range_deg[0] is None else "(from {0}°)"
        return self._written(title or self.variant, " on ", form, " ÷ ", "")

    def label(self, titles: Mapping[str, str]) -> str:
        """Say it with the title its variant has, or the identifier."""
        return self.in_words(titles.get(self.variant, self.variant))

    def _written(self, name: str, on: str, span: str, per: str, unknown: str) -> str:
        text = name + (f"{on}{self.equipment}" if self.equipment else "")
        if self.range_deg is not None:
            ends = [unknown if x is None else f"{x:g}" for x in self.range_deg]
            text += " " + span.format(*ends)
        if self.hold is not None:
            text += f" held {self.hold[0]:.0f}°{per}{self.hold[1]:.0f}°"
        return text


def _known(end: float | None) -> End:
    return None if end is None or math.isnan(end) else float(end)


# What `Setup.key` writes behind the variant, and how `Setup.in_words` says it.
_SAID = (
    (r" @ ", " on "),
    (r" \[nan:([\d.]+)\]", r" (to \1°)"),
    (r" \[([\d.]+):nan\]", r" (from \1°)"),
    (r" \[([\d.]+):([\d.]+)\]", r" (\1–\2°)"),
    (r" held (\d+)° : (\d+)°", r" held \1° ÷ \2°"),
)


@lru_cache(maxsize=8)
def _any_of(names: tuple[str, ...]) -> re.Pattern[str]:
    each = "|".join(sorted(map(re.escape, names), key=len, reverse=True))
    return re.compile(rf"(?<!\w)({each})(?!\w)")


def say_setups(text: str, titles: Mapping[str, str]) -> str:
    """Put the keys of setups in a sentence into words, as `Setup.label` does.

    Parameters
    ----------
    text : str
        A setup's key, or a sentence with some.
    titles : mapping of str to str
        Title of each variant by its identifier.

    Returns
    -------
    text : str
        The same for people.
    """
    text = _any_of(tuple(titles)).sub(lambda it: titles.get(it[0], it[0]), text)
    for key, words in _SAID:
        text = re.sub(key, words, text)
    return text
