"""Log ratios to one reference, with all that binds them together."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from analytics.errors import InputError

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LogRatios:
    """Natural logs of ratios, jointly normal.

    Attributes
    ----------
    labels : tuple of str
        What each ratio is of.
    mean : ndarray, shape (n,)
        Log ratios. [1]
    cov : ndarray, shape (n, n)
        Their covariance. [1]

    Raises
    ------
    InputError
        If the parts are not of one length.
    """

    labels: tuple[str, ...]
    mean: Array
    cov: Array

    def __post_init__(self) -> None:
        """Refuse parts that do not belong together."""
        n = len(self.labels)
        if self.mean.shape != (n,) or self.cov.shape != (n, n):
            raise InputError(
                f"{n} labels need a mean of {n} and a covariance of {n} by {n}, got "
                f"{self.mean.shape} and {self.cov.shape}"
            )

    def subset(self, labels: Sequence[str]) -> LogRatios:
        """Give some of the ratios, in the order asked for."""
        at = self._at(labels)
        return LogRatios(
            labels=tuple(labels), mean=self.mean[at], cov=self.cov[np.ix_(at, at)]
        )

    def with_reference(self, label: str) -> LogRatios:
        """Add the reference itself: a ratio of 1, known exactly, unless it is there."""
        if label in self.labels:
            return self
        return LogRatios(
            labels=(*self.labels, label),
            mean=np.append(self.mean, 0.0),
            cov=np.pad(self.cov, (0, 1)),
        )

    def against(self, label: str) -> LogRatios:
        """Give the same ratios to another reference, one of them."""
        change = np.eye(len(self.labels))
        change[:, self._at([label])] -= 1.0
        return LogRatios(
            labels=self.labels,
            mean=change @ self.mean,
            cov=change @ self.cov @ change.T,
        )

    def beside(self, other: LogRatios) -> LogRatios:
        """Join ratios that share no error."""
        n, cov = len(self.labels), np.pad(self.cov, (0, len(other.labels)))
        cov[n:, n:] = other.cov
        return LogRatios(
            labels=self.labels + other.labels,
            mean=np.concatenate([self.mean, other.mean]),
            cov=cov,
        )

    def shift(self, by: ArrayLike) -> LogRatios:
        """Add what is known exactly, such as the logs of two load conventions."""
        return LogRatios(
            labels=self.labels, mean=self.mean + np.asarray(by, float), cov=self.cov
        )

    def _at(self, labels: Sequence[str]) -> NDArray[np.intp]:
        if missing := [label for label in labels if label not in self.labels]:
            raise InputError(
                f"no ratio of {missing[0]!r}; there are: {', '.join(self.labels)}"
            )
        return np.array([self.labels.index(label) for label in labels], dtype=np.intp)
