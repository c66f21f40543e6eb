"""Pulls: the path of both joints of the arm, and what the hand pulls at."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from pathlib import Path
from typing import Annotated, Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray
from pydantic import AfterValidator, Discriminator

from analytics.catalogue.entries import Variant
from analytics.catalogue.fields import Kind, Length, Number, RightAngle, Text, entry
from analytics.catalogue.files import TomlFile
from analytics.catalogue.load import DATA, load_catalogue
from analytics.catalogue.resistance import Cable, Gravity
from analytics.errors import InputError

PathKnots = tuple[tuple[Number, Number, Number], ...]


@entry
class Hanging:
    """The hand holds a fixed bar and carries the body."""

    kind: Literal["hanging"] = "hanging"


def _bending(knots: PathKnots) -> PathKnots:
    """Take knots along which the elbow never straightens."""
    elbow = [knot[0] for knot in knots]
    if len(knots) < 2 or elbow != sorted(elbow):
        raise ValueError("expected two or more knots whose elbow never straightens")
    return knots


@entry
class Pull:
    """Posture and resistance of a pull, for demand and shares.

    Attributes
    ----------
    variant : str
        Of the catalogue.
    resistance : Gravity, Cable or Hanging
        What the hand pulls at.
    rotation_deg : float
        Forearm, +90 supinated, -90 pronated. [deg]
    knots : tuple of (float, float, float)
        Elbow, shoulder and trunk at even steps of progress. [deg]
    hip_m : float or None
        Hips above the floor; those of a standing body when None. [m]
    kind, source, note : str
        Evidence, key in ``sources.toml``, and what to know.
    """

    variant: Text
    resistance: Annotated[Gravity | Cable | Hanging, Discriminator("kind")]
    rotation_deg: RightAngle
    knots: Annotated[PathKnots, AfterValidator(_bending)]
    hip_m: Length | None = None
    kind: Kind
    source: Text
    note: Text

    def posture_deg(self, progress: ArrayLike) -> NDArray[np.float64]:
        """Elbow, shoulder and trunk at a progress from 0 to 1, shape (3, ...)."""
        at = np.linspace(0, 1, len(self.knots))
        columns = np.array(self.knots).T
        done = np.asarray(progress, dtype=float)
        return np.stack([np.interp(done, at, column) for column in columns])


@cache
def load_pulls(directory: Path = DATA) -> Mapping[str, Pull]:
    """Read and check the pulls; the result is cached.

    Parameters
    ----------
    directory : Path
        Folder with the data file; the package's own unless a test says otherwise.

    Returns
    -------
    pulls : dict of str to Pull
        By variant.

    Raises
    ------
    CatalogueError
        If an entry breaks a rule; names file, line, entry and what is accepted.
    """
    catalogue, pulls = load_catalogue(), {}
    joint, chain = catalogue.joints["elbow"], catalogue.chains["arm"]
    limits = (joint.grid_deg, chain.links[0].range_deg, (-90.0, 90.0))
    for found in TomlFile(directory / "pulls.toml").entries("pull", "variant"):
        pull = found.read(Pull, found.stated)
        found.check_source(pull.source, catalogue.sources)
        variant: Variant | None = catalogue.variants.get(pull.variant)
        if variant is None or variant.modelled or pull.variant in pulls:
            found.refuse(
                "variant",
                f"{pull.variant!r}: expected a variant of variants.toml with "
                "`modelled = false`, once",
            )
        for name, column, (low, high) in zip(
            ("elbow", "shoulder", "trunk"),
            np.array(pull.knots).T,
            limits,
            strict=True,
        ):
            if column.min() < low or column.max() > high:
                found.refuse("knots", f"{name} angles must be from {low:g} to {high:g}")
        pulls[pull.variant] = pull
    return pulls


def pull_of(variant: str) -> Pull:
    """Return the pull of a variant, or refuse with those there are.

    Parameters
    ----------
    variant : str
        Id in the catalogue.

    Returns
    -------
    pull : Pull

    Raises
    ------
    InputError
        If the variant has no path as a pull.
    """
    pulls = load_pulls()
    if variant not in pulls:
        raise InputError(f"no pull {variant!r}; there are: {', '.join(pulls)}")
    return pulls[variant]
