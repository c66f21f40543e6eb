"""Loads in the unit in which people read them; everything else is in kilograms."""

import re

import pandas as pd

from analytics.units import KG_PER_UNIT

_NUMBER = r"[-+\N{MINUS SIGN}]?\d[\d,]*(?:\.\d+)?"
# Columns in words of ours.
SENTENCES = ("basis", "caution", "flags", "reason", "sentence", "trend")
# A number stays as written where it stands in quotes: somebody typed it.
_LOADS = re.compile(rf"(?<![\w'\"`.,-])({_NUMBER}(?: (?:to|and) {_NUMBER})*) kg\b")


def text_in(text: str, unit: str) -> str:
    """Put the loads of a sentence in the unit in which people read them.

    Parameters
    ----------
    text : str
        With loads such as ``22.5 kg`` or ``20 to 22.5 kg``.
    unit : str
        ``kg`` or ``lb``.

    Returns
    -------
    text : str
        With as many decimals as before, one at most.
    """
    if unit == "kg":
        return text

    def other(found: re.Match[str]) -> str:
        return re.sub(_NUMBER, _other, found[1]) + f" {unit}"

    def _other(found: re.Match[str]) -> str:
        typed = found[0].replace(",", "").replace("\N{MINUS SIGN}", "-")
        value = float(typed) / KG_PER_UNIT[unit]
        sign = "+" if typed.startswith("+") else ""
        return f"{value:{sign}.{min(1, len(typed.partition('.')[2]))}f}"

    return _LOADS.sub(other, text).replace("[kg]", f"[{unit}]")


def loads_in(table: pd.DataFrame, unit: str) -> pd.DataFrame:
    """Put the columns of a table that hold kilograms in another unit of mass.

    Parameters
    ----------
    table : DataFrame
        Columns of kilograms end in ``_kg``.
    unit : str
        ``kg`` or ``lb``.

    Returns
    -------
    table : DataFrame
        The same columns under the same names, to be shown and nothing else.
    """
    kg = [name for name in table if str(name).endswith("_kg")]
    return (
        table.assign(**{n: table[n] / KG_PER_UNIT[unit] for n in kg}) if kg else table
    )


def taken_away(table: pd.DataFrame, unit: str) -> pd.DataFrame:
    """Put a table that leaves as a file in a unit, which its columns then name.

    Parameters
    ----------
    table : DataFrame
        Columns of kilograms end in ``_kg``.
    unit : str
        ``kg`` or ``lb``.

    Returns
    -------
    table : DataFrame
        ``load_kg`` as ``load_lb``, and our sentences in the unit too.
    """
    if unit == "kg":
        return table
    told = [name for name in table if name in SENTENCES]
    said = {name: table[name].map(lambda x: text_in(str(x), unit)) for name in told}
    names = {n: f"{n.removesuffix('kg')}{unit}" for n in table if n.endswith("_kg")}
    return loads_in(table.assign(**said), unit).rename(columns=names)
