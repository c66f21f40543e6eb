"""Whose body the model is asked about: as last measured, or the usual one."""

import pandas as pd

from analytics.catalogue import Body, make_body


def measured_body(bodies: pd.DataFrame) -> tuple[Body, str]:
    """Return one lifter's body as last measured, and which of it was.

    Parameters
    ----------
    bodies : DataFrame
        One lifter's ``body_mass_kg, stature_m, forearm_length_m``, oldest first.

    Returns
    -------
    body : Body
        The default of the mechanics where nobody measured.
    words : str
        Mass and stature, each measured or assumed.
    """
    last = bodies.reindex(columns=["body_mass_kg", "stature_m", "forearm_length_m"])
    mass_kg, stature_m, forearm_m = (
        float(known.iloc[-1]) if len(known := last[name].dropna()) else None
        for name in last
    )
    usual = make_body()
    body = make_body(
        body_mass_kg=mass_kg or usual.mass_kg,
        stature_m=stature_m or usual.stature_m,
        forearm_m=forearm_m,
    )
    return body, (
        f"{body.mass_kg:.0f} kg ({'measured' if mass_kg else 'assumed'}) and "
        f"{body.stature_m:.2f} m ({'measured' if stature_m else 'assumed'})"
    )
