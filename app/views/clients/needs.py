"""One row per lifter: numbers, small pictures and the reason in words."""

import pandas as pd

from analytics import advice
from analytics import store as stored
from analytics.charts import sparkline
from analytics.strength import StrengthFit
from app.fits import absent_until, fit_key
from app.state import Choice, cached, read, stamp

MOST_CLIENTS = 200
CHANGES = ("change_4w", "change_8w")


def exercises(fit: StrengthFit) -> list[str]:
    """Return variants with strength, those of most lifters first."""
    done = fit.trend.drop_duplicates(["lifter", "variant"])
    return list(done["variant"].value_counts().index)


def client_rows(choice: Choice, fit: StrengthFit, variant: str | None) -> pd.DataFrame:
    """Return one row per lifter with `flags`, who needs attention first.

    Strength and reasons are of one variant; the reasons of who never did it, and the
    order, are of what each did most, as on *Home*.
    """
    sets, until = read(stored.sets_and_pains), absent_until()
    key = (*fit_key(choice), stamp(), variant, until)

    def make() -> pd.DataFrame:
        rows = advice.clients(fit, sets, variant=variant).set_index("lifter")
        most, here = (
            advice.attention([fit], sets, variant=name, on=until).set_index("lifter")
            for name in (None, variant)
        )
        flags = here["flags"].combine_first(most["flags"])
        rows = rows.loc[most.index].assign(flags=flags).reset_index()
        return advice.flag_notes(rows, read(stored.pain_in_notes))

    return cached("clients", key, make)


def client_pictures(rows: pd.DataFrame, trend: pd.DataFrame) -> pd.DataFrame:
    """Return the table of clients as it is shown: small pictures for intervals."""
    rows = rows.head(MOST_CLIENTS)
    trend = trend[trend["lifter"].isin(rows["lifter"])].sort_values("date")
    trends = dict(list(trend.groupby(["lifter", "setup"])))
    keys = zip(rows["lifter"], rows["setup"], strict=True)
    shown = {
        "lifter": rows["lifter"],
        "strength_kg": rows["strength_kg"],  # seen on a phone too
        "flags": rows["flags"],
        "trend": [sparkline.trend(trends[k]) if k in trends else "" for k in keys],
        **{
            name: [
                sparkline.intervals([tuple(row)], at=0.0, span=(-0.1, 0.1))
                for row in rows[[name, f"{name}_low", f"{name}_high"]].to_numpy(float)
            ]
            for name in CHANGES
        },
        "gaining_frac": (1 - rows["chance_no_gain"]).round(2),
    }
    rest = rows[["sets", "effort_frac", "last_on", "setup"]]
    return pd.DataFrame(shown).join(rest.round({"effort_frac": 2}))
