"""Tables and plain values as one block of bytes that depends on nothing else."""

import io
import json
import zipfile
from collections.abc import Mapping
from dataclasses import dataclass, field, fields, replace
from typing import Any

import numpy as np
import pandas as pd

from analytics.reports.counting import Counted
from analytics.strength.model.parts import Shared
from analytics.strength.model.ratios import RatioSums


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Bundle:
    """What a task hands on.

    Attributes
    ----------
    tables : dict of str to DataFrame
    plain : dict
        Whatever JSON can hold, arrays as lists.
    """

    tables: dict[str, pd.DataFrame] = field(default_factory=dict)
    plain: dict[str, Any] = field(default_factory=dict)

    def packed(self) -> bytes:
        """Return the bytes: tables as Parquet, the rest as JSON, no times."""
        out = io.BytesIO()
        with zipfile.ZipFile(out, "w", zipfile.ZIP_STORED) as archive:
            for name in sorted(self.tables):
                content = self.tables[name].to_parquet(index=False)
                archive.writestr(zipfile.ZipInfo(name), content)
            text = json.dumps(self.plain, default=_listed)
            archive.writestr(zipfile.ZipInfo("plain.json"), text)
        return out.getvalue()

    @classmethod
    def of(cls, content: bytes) -> "Bundle":
        """Read the bytes again."""
        with zipfile.ZipFile(io.BytesIO(content)) as archive:
            plain = json.loads(archive.read("plain.json"))
            tables = {
                name: pd.read_parquet(io.BytesIO(archive.read(name)))
                for name in archive.namelist()
                if name != "plain.json"
            }
        return cls(tables=tables, plain=plain)


def _listed(value: object) -> object:
    if isinstance(value, np.ndarray):
        return value.tolist()
    if isinstance(value, np.generic):
        return value.item()
    raise TypeError(f"cannot pack a {type(value).__name__}")


def put_shared(bundle: Bundle, movement: str, shared: Shared) -> None:
    """Add what the lifters of a movement share."""
    bundle.tables[f"setups {movement}"] = shared.setups
    bundle.plain[movement] = {
        f.name: getattr(shared, f.name)
        for f in fields(shared)
        if f.name not in ("setups", "sums")
    } | {"sums": shared.sums and sums_to_plain(shared.sums)}


def get_shared(bundle: Bundle, movement: str) -> Shared:
    """Read what the lifters of a movement share."""
    plain = dict(bundle.plain[movement])
    sums = plain.pop("sums")
    told = Shared(setups=bundle.tables[f"setups {movement}"], **plain)
    first, second = (np.array(x, float) for x in told.relation)
    return replace(told, relation=(first, second), sums=sums and sums_from_plain(sums))


def sums_to_plain(sums: RatioSums) -> dict[str, Any]:
    """Put sums as JSON has them."""
    return {f.name: getattr(sums, f.name) for f in fields(sums)}


def sums_from_plain(plain: Mapping[str, Any]) -> RatioSums:
    """Read them again."""
    arrays = {k: np.array(v) for k, v in plain.items() if k != "lifters"}
    return RatioSums(lifters=float(plain["lifters"]), **arrays)


def put_counted(bundle: Bundle, movement: str, counted: Counted) -> None:
    """Add what was counted of a movement."""
    for f in fields(counted):
        bundle.tables[f"{f.name} {movement}"] = getattr(counted, f.name)


def get_counted(bundle: Bundle, movement: str) -> Counted:
    """Read what was counted of a movement."""
    return Counted(
        **{f.name: bundle.tables[f"{f.name} {movement}"] for f in fields(Counted)}
    )
