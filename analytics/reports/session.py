"""The loads of one session on one sheet to print."""

from datetime import date
from importlib import resources

import jinja2
import pandas as pd

from analytics import advice
from analytics.catalogue import load_catalogue, say_setups
from analytics.labels import typeset
from analytics.shown_loads import text_in
from analytics.units import KG_PER_UNIT


def session_html(loads: pd.DataFrame, lifter: str, *, unit: str = "kg") -> str:
    """Compose the sheet of one session as one HTML page without outside parts.

    Parameters
    ----------
    loads : DataFrame
        Of :func:`analytics.advice.session`.
    lifter : str
        Code.
    unit : str
        ``kg`` or ``lb``, of all loads.

    Returns
    -------
    page : str
        HTML.
    """
    titles = {name: v.title for name, v in load_catalogue().variants.items()}
    own, every = advice.split_cautions(loads)
    rows = [
        {
            "exercise": say_setups(row["variant"], titles),
            "load": _load(row["load_kg"], unit, ".4g"),
            "low": _load(row["low_kg"], unit, ".1f"),
            "high": _load(row["high_kg"], unit, ".1f"),
            "reps": f"{row['reps']:g}",
            "rir": f"{row['rir']:g}",
            "caution": text_in(say_setups(". ".join(said), titles), unit),
        }
        for (_, row), said in zip(loads.iterrows(), own, strict=True)
    ]
    template = resources.files("analytics.reports").joinpath(
        "templates", "session.html"
    )
    environment = jinja2.Environment(
        autoescape=True, undefined=jinja2.StrictUndefined, finalize=typeset
    )
    return environment.from_string(template.read_text("utf-8")).render(
        lifter=lifter,
        day=f"{date.today():%Y-%m-%d}",
        unit=unit,
        rows=rows,
        every=[text_in(say_setups(text, titles), unit) for text in every],
    )


def _load(load_kg: float, unit: str, form: str) -> str:
    return "–" if pd.isna(load_kg) else format(load_kg / KG_PER_UNIT[unit], form)
