"""Kinds of field that data files have, and how an entry of one is made."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise
from typing import Annotated, Literal, TypeVar, dataclass_transform

from pydantic import (
    AfterValidator,
    BeforeValidator,
    ConfigDict,
    StringConstraints,
    with_config,
)

Kind = Literal["measured", "pooled", "fitted", "predicted", "assumed"]
Text = Annotated[str, StringConstraints(min_length=1)]
Range = tuple[float, float]
T = TypeVar("T")
Knots = tuple[tuple[float, float], ...]
LONGEST_M = 10.0  # no gym is longer


@dataclass_transform(frozen_default=True, kw_only_default=True)
def entry(kind: type[T]) -> type[T]:
    """Make a frozen dataclass of a data file, which takes no other names."""
    made = dataclass(frozen=True, slots=True, kw_only=True)(kind)
    return with_config(ConfigDict(extra="forbid"))(made)


def from_to(low: float = -math.inf, high: float = math.inf) -> BeforeValidator:
    """Take a number within limits."""
    limits = "" if math.isinf(high) else f" from {low:g} to {high:g}"

    def check(value: object) -> float:
        number = isinstance(value, int | float) and not isinstance(value, bool)
        if number and low <= value <= high and math.isfinite(value):  # type: ignore[operator,arg-type]
            return float(value)  # type: ignore[arg-type]
        raise ValueError(f"expected a number{limits}")

    return BeforeValidator(check)


def rising(knots: Knots) -> Knots:
    """Take knots in order."""
    if len(knots) < 2 or any(b[0] <= a[0] for a, b in pairwise(knots)):
        raise ValueError("expected two or more pairs with rising first numbers")
    return knots


def around(span: Range) -> Range:
    """Take a range that holds 0, the catalogue's own posture."""
    if not span[0] <= 0 <= span[1]:
        raise ValueError("expected two numbers with 0 between them")
    return span


Number = Annotated[float, from_to()]
Share = Annotated[float, from_to(0, 1)]
RightAngle = Annotated[float, from_to(-90, 90)]
Tilt = Annotated[float, from_to(0, 90)]
Ahead = Annotated[float, from_to(-LONGEST_M, LONGEST_M)]
Length = Annotated[float, from_to(0, LONGEST_M)]
Slack = Annotated[float, from_to(0.01, LONGEST_M)]
Ratio = Annotated[float, from_to(0.1, 4)]
Around = Annotated[tuple[Number, Number], AfterValidator(around)]
Path = Annotated[tuple[tuple[Number, Number], ...], AfterValidator(rising)]
