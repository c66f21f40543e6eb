"""Direct points: strength at known joint angles, without any length–strength model.

Isometric holds at noted angles, and sets that failed at a noted angle.
"""

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy import linalg

from analytics.evidence.failures import FailurePoints
from analytics.mechanics import demand

Array = NDArray[np.float64]


def direct_points(
    holds: pd.DataFrame, failures: FailurePoints
) -> tuple[pd.DataFrame, Array]:
    """Line up holds and failure angles as moments at joint angles.

    Parameters
    ----------
    holds : DataFrame
        ``lifter, variant, angle_deg, load_kg``: maximal holds, load per arm.
    failures : FailurePoints
        Result of `failure_points`.

    Returns
    -------
    points, known_cov : DataFrame, ndarray (n, n)
        ``kind, level, variant, angle_deg, moment_nm, n``, of ``n`` sets each; points of
        one ``level`` can be compared. Covariance of the log moments: zero for holds,
        whose noise is learned. [1]
    """
    moment = [
        float(demand(row.angle_deg, variant=row.variant, load_kg=row.load_kg))
        for row in holds.itertuples()
    ]
    held = pd.DataFrame(
        {
            "kind": "hold",
            "level": holds["lifter"].astype("str")
            + " "
            + holds["variant"].astype("str"),
            "variant": holds["variant"],
            "angle_deg": holds["angle_deg"].astype(float),
            "moment_nm": np.array(moment, dtype=float),
            "n": 1,
        }
    )
    held = held[held["moment_nm"] > 0]
    failed = failures.table.assign(kind="failure", level="failures")[held.columns]
    parts = [part for part in (held, failed) if len(part)]
    points = pd.concat(parts, ignore_index=True) if parts else held
    return points, linalg.block_diag(np.zeros((len(held),) * 2), failures.cov)
