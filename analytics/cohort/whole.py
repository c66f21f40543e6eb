"""What the whole cohort says: ratios, verdict and tables of what the parts counted."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from types import SimpleNamespace
from typing import Any, cast

import numpy as np
import pandas as pd

from analytics import evidence, mechanics
from analytics.catalogue import load_catalogue
from analytics.cohort.bundle import unpacked
from analytics.cohort.place import Place
from analytics.errors import InputError
from analytics.evidence import CurveTest
from analytics.reports.counted import Counted, filled, together
from analytics.reports.disclosure import check_smallest_cell
from analytics.reports.held import Held
from analytics.reports.package import write_package
from analytics.reports.register import check_release, holdings, recorded
from analytics.reports.tables import aggregate_tables
from analytics.strength import StrengthFit

META = "_meta.json"
WHOLE = "whole.zip"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Cohort:
    """A finished result folder.

    Attributes
    ----------
    address : str
        The folder.
    meta : dict
        Versions, parameters, sources, seed and sample.
    fits : dict of str to StrengthFit
        By movement, without what is of single lifters; ``trend`` is the mean strength
        in each setup, one row.
    counted : dict of str to Counted
        By movement.
    verdicts : dict of str to dict
        Curve test of each modelled movement, as `lacertus fit` gives it.
    """

    address: str
    meta: dict[str, Any]
    fits: dict[str, StrengthFit]
    counted: dict[str, Counted]
    verdicts: dict[str, dict[str, Any]]

    def tables(
        self, *, smallest_cell: int = 10
    ) -> tuple[dict[str, pd.DataFrame], list[StrengthFit]]:
        """Make the research tables, as `reports.research_tables` does of a store.

        Parameters
        ----------
        smallest_cell : int
            Lifters a published cell holds at least, 5 or more.

        Returns
        -------
        tables : dict of str to DataFrame
        fits : list of StrengthFit
            Of the movements in them.

        Raises
        ------
        InputError
            If the cell is too small or no movement has lifters enough.
        """
        check_smallest_cell(smallest_cell)
        enough = {
            name: fit
            for name, fit in self.fits.items()
            if self.counted[name].everyone["lifter"].nunique() >= smallest_cell
        }
        variants = {name: modelled_of(enough[name]) for name in enough}
        modelled = [name for name, of_it in variants.items() if of_it]
        found = aggregate_tables(
            self.counted,
            enough,
            {name: _test_of(self.verdicts[name]) for name in modelled},
            {name: mechanics.hardest(variants[name]) for name in modelled},
            smallest_cell=smallest_cell,
        )
        shown = found["data_quality"].query("status == 'published'")["movement"]
        return found, [fit for name, fit in enough.items() if name in set(shown)]

    @property
    def register(self) -> Path:
        """Where releases of this and of its neighbours' lifters are kept.

        Beside the folder, since the next run of nearly the same cohort has another; of
        an object store in the folder where one works.
        """
        place = Place(self.address)
        beside = Path(place.root).parent if place.is_local else Path()
        return beside.resolve() / "cohorts.releases"

    def held(self) -> dict[str, Held]:
        """Return what each lifter has in each cell, by movement."""
        place = Place(self.address)
        parts = [unpacked(place.read(name)) for name in self.meta["held"]]
        found = {}
        for movement in self.counted:
            own = [part[movement] for part in parts if movement in part]
            found[movement] = replace(
                own[0],
                everyone=pd.concat([of.everyone for of in own]),
                cells=pd.concat(filled([of.cells for of in own])),
            )
        return found

    def write_tables(
        self, directory: Path, *, smallest_cell: int = 10, again: bool = False
    ) -> pd.DataFrame:
        """Write the research tables as a data package.

        Parameters
        ----------
        directory : Path
            Made if missing; an earlier package is replaced.
        smallest_cell : int
            Lifters a published cell holds at least, 5 or more.
        again : bool
            Only warn where a former release could be subtracted from this one.

        Returns
        -------
        written : DataFrame
            ``file, rows, suppressed``.

        Raises
        ------
        ReleaseRefusedError
            If a former release had nearly the same cohort.
        """
        found, fits = self.tables(smallest_cell=smallest_cell)
        held, register = holdings(self.held()), self.register
        check_release(register, held, smallest_cell=smallest_cell, again=again)
        with recorded(register, held, smallest_cell=smallest_cell):
            return write_package(found, fits, directory, smallest_cell=smallest_cell)


def open_cohort(address: str) -> Cohort:
    """Open a finished result folder to read.

    Parameters
    ----------
    address : str
        Folder or address given to `lacertus cohort --out`.

    Returns
    -------
    cohort : Cohort

    Raises
    ------
    InputError
        If there is no finished result.
    """
    place = Place(address)
    if not place.has(WHOLE):
        raise InputError(
            f"{address} holds no finished cohort; `lacertus cohort SOURCE --out "
            f"{address}` makes one, and goes on with one that was broken off"
        )
    found: Cohort = unpacked(place.read(WHOLE))
    return replace(found, address=address)  # it may have been moved


def joined(
    parts: Sequence[dict[str, Any]],
) -> tuple[dict[str, StrengthFit], dict[str, Counted]]:
    """Join what the parts counted and fitted.

    Parameters
    ----------
    parts : sequence of dict
        ``counted`` of every part, in order.

    Returns
    -------
    fits : dict of str to StrengthFit
    counted : dict of str to Counted
        Both by movement; see :class:`Cohort`.
    """
    counted, fits = {}, {}
    for movement in sorted({name for part in parts for name in part}):
        own = [part[movement] for part in parts if movement in part]
        counted[movement] = together([part["counted"] for part in own])
        fitted = [part for part in own if "fit" in part]
        if fitted:
            fits[movement] = _whole_fit(fitted, counted[movement])
    return fits, counted


def _whole_fit(parts: Sequence[dict[str, Any]], counted: Counted) -> StrengthFit:
    fit: StrengthFit = parts[0]["fit"]
    sums = pd.concat([part["typical"] for part in parts]).groupby("setup").sum()
    mean = np.exp(sums["log_sum"] / sums["rows"]).rename("strength_kg").reset_index()
    held, own = (
        pd.concat(filled([part[name] for part in parts]), ignore_index=True)
        for name in ("holds", "own")
    )
    return replace(
        fit,
        n_lifters=len(counted.lifters),
        n_obs=counted.lifters.total(),
        trend=mean.assign(lifter="").reindex(columns=fit.trend.columns),
        holds=held,
        personal=own,  # of setups that were left out, for the curve test
    )


def modelled_of(fit: StrengthFit) -> list[str]:
    """Variants of a fit that mechanics knows."""
    known = load_catalogue().variants
    return [
        variant
        for variant in dict.fromkeys(fit.setups["variant"])
        if variant in known and known[variant].modelled
    ]


def tested(fit: StrengthFit, counted: Counted) -> CurveTest:
    """Test the cohort's curve."""
    sets = counted.tallies["setup"].set_index("setup")["sets"]
    return evidence.curve_test(fit, sets=sets)


def _test_of(verdict: dict[str, Any]) -> CurveTest:
    """Give what tables need of a curve test that was made before."""
    p_value = verdict["p_value"]
    told = {
        "verdict": verdict["verdict"],
        "weights": verdict["weights"],
        "p_value": np.nan if p_value is None else p_value,
        "residuals": pd.DataFrame(verdict["residuals"]),
    }
    return cast(CurveTest, SimpleNamespace(**told))
