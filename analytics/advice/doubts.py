"""What strengths must not be read without, and how they changed, in sentences."""

import numpy as np
import pandas as pd

from analytics.strength import StrengthFit

ASSUMED = "assumed reserve"  # basis of a strength no reported effort stands behind
PRIOR_ONLY = (
    "no set tells how hard it was: the number rests on the reserve such sets usually "
    "leave; write down the reserve, or whether the last repetition failed"
)
_PAIR = ["lifter", "variant"]


def doubts(fit: StrengthFit, shown: pd.DataFrame) -> list[str]:
    """Say which strengths rest on priors alone, and which sets are outliers.

    Parameters
    ----------
    fit : StrengthFit
        Of one movement.
    shown : DataFrame
        ``lifter, variant`` of the strengths shown; ``variant`` is the setup.

    Returns
    -------
    sentences : list of str
        Each begins with lifter and setup.
    """
    assumed = fit.trend.loc[fit.trend["basis"] == ASSUMED, ["lifter", "setup"]]
    assumed = assumed.drop_duplicates().assign(sentence=PRIOR_ONLY)
    return _told(pd.concat([assumed, fit.outliers]), shown)


def changes(fit: StrengthFit, shown: pd.DataFrame) -> list[str]:
    """Say how strength stands against four and eight weeks before.

    Parameters
    ----------
    fit : StrengthFit
        Of one movement.
    shown : DataFrame
        As in :func:`doubts`.

    Returns
    -------
    sentences : list of str
        Each begins with lifter and setup; none where nothing was done then.
    """
    slopes = fit.slopes.merge(shown.rename(columns={"variant": "setup"}))
    said = [change_sentence(row) for _, row in in_fractions(slopes).iterrows()]
    return _told(slopes.assign(sentence=said), shown)


def in_fractions(slopes: pd.DataFrame) -> pd.DataFrame:
    """Return changes of log strength as shares of the strength before.

    Parameters
    ----------
    slopes : DataFrame
        Of a fit.

    Returns
    -------
    slopes : DataFrame
        ``change_4w, change_8w`` and their ``_low`` and ``_high`` as fractions. [1]
    """
    names = [name for name in slopes if str(name).startswith("change_")]
    return slopes.assign(**np.expm1(slopes[names].astype(float)))


def _told(rows: pd.DataFrame, shown: pd.DataFrame) -> list[str]:
    found = rows.rename(columns={"setup": "variant"}).merge(shown, on=_PAIR)
    found = found[found["sentence"] != ""]
    parts = (found[name] for name in (*_PAIR, "sentence"))
    return [f"{who}, {setup}: {said}" for who, setup, said in zip(*parts, strict=True)]


def change_sentence(row: pd.Series) -> str:
    """Say one series' change against four and eight weeks before.

    Parameters
    ----------
    row : Series
        ``change_4w, change_8w`` with ``_low`` and ``_high``. [1]

    Returns
    -------
    sentence : str
        Empty where nothing was done then.
    """
    said = []
    for weeks in (4, 8):
        name = f"change_{weeks}w"
        if pd.notna(row[name]):
            kept = row[[name, f"{name}_low", f"{name}_high"]].astype(float)
            middle, low, high = 100 * kept
            said.append(
                f"against {weeks} weeks before {middle:+z.1f} % (90 % interval "
                f"{low:+z.1f} to {high:+z.1f})"
            )
    return f"Strength {' and '.join(said)}." if said else ""
