"""What pages ask of advice and reports: next loads, clients, research tables."""

import tempfile
from collections.abc import Hashable
from dataclasses import replace
from datetime import date
from pathlib import Path

import pandas as pd

from analytics import advice, reports
from analytics import store as stored
from analytics.catalogue import Body, load_catalogue
from app import results
from app.charts import sparkline
from app.results import StrengthFit, fit_key, setups_of
from app.state import (
    Choice,
    cached,
    is_cached,
    label,
    progress,
    read,
    sets,
    stamp,
    store,
)

MOST_CLIENTS = 200


def setup_titles(fit: StrengthFit, lifter: str) -> dict[str, str]:
    """Return own setups, then others' and variants never trained, by their titles."""
    known = load_catalogue().variants.values()
    untrained = [v.variant for v in known if v.modelled and v.movement == fit.movement]
    names = [*setups_of(fit, lifter), *fit.setups["setup"], *untrained]
    return {name: label(name) for name in names}


def next_load(
    fit: StrengthFit,
    choice: Choice,
    setup: str,
    *,
    reps: int,
    rir: float,
    step_kg: float,
) -> pd.DataFrame:
    """Return the load for the next set, with its basis and caution."""
    return advice.next_load(
        fit,
        choice.lifter,
        setup,
        sets=read(stored.sets_and_pains, lifter=choice.lifter),
        reps=reps,
        rir=rir,
        step_kg=step_kg,
    )


def usual_step_kg(fit: StrengthFit, setup: str) -> float:
    """Return the smallest change of load of a setup's implement."""
    return advice.usual_step_kg(fit, setup)


def load_sentence(row: pd.Series) -> str:
    """Say the load with its interval, or that there is none."""
    if pd.isna(row["load_kg"]):
        return "No load is suggested"
    return (
        f"{row['load_kg']:g} kg for {row['reps']:g} repetitions, {row['rir']:g} in "
        f"reserve; the log gives {row['low_kg']:.1f} to {row['high_kg']:.1f} kg "
        "(90 % interval)"
    )


def ranking(choice: Choice, fit: StrengthFit, goal: str) -> pd.DataFrame:
    """Return variants for one goal, the best first, with reasons in words."""
    body, _ = body_of(choice)
    reference = advice.modelled_reference(fit)

    def facts() -> pd.DataFrame:
        names = list(load_catalogue().modelled)
        return advice.variant_facts(names, body=body, reference=reference)

    def make() -> pd.DataFrame:
        known = cached("variant_facts", (repr(body), reference), facts)
        return advice.rank_variants(goal, fit=fit, lifter=choice.lifter, facts=known)

    return cached("ranking", (*fit_key(choice), choice.lifter, goal, stamp()), make)


def body_of(choice: Choice) -> tuple[Body, str]:
    """Return the chosen lifter's body as last measured, and its size in words."""
    return advice.measured_body(read(stored.bodies, lifter=choice.lifter))


def client_rows(choice: Choice, fit: StrengthFit) -> pd.DataFrame:
    """Return one row per lifter, those most likely to have stalled first."""

    def make() -> pd.DataFrame:
        rows = advice.clients(fit, read(stored.sets_and_pains))
        return rows.sort_values("chance_no_gain", ascending=False)

    return cached("clients", fit_key(choice), make)


def client_pictures(choice: Choice, fit: StrengthFit) -> pd.DataFrame:
    """Return the table of clients as it is shown: small pictures for intervals."""

    def make() -> pd.DataFrame:
        return _pictures(client_rows(choice, fit).head(MOST_CLIENTS), fit.trend)

    return cached("client_pictures", fit_key(choice), make)


def _pictures(rows: pd.DataFrame, trend: pd.DataFrame) -> pd.DataFrame:
    trend = trend[trend["lifter"].isin(rows["lifter"])].sort_values("date")
    trends = dict(list(trend.groupby(["lifter", "setup"])))
    reach = rows[["slope_low", "slope_high"]].abs().max(axis=None)
    sides = zip(
        rows["left_right_ratio"],
        rows["left_right_low"],
        rows["left_right_high"],
        strict=True,
    )
    slopes = zip(
        rows["slope_frac_per_week"], rows["slope_low"], rows["slope_high"], strict=True
    )
    keys = zip(rows["lifter"], rows["setup"], strict=True)
    shown = {
        "lifter": rows["lifter"],
        "strength_kg": rows["strength_kg"],
        "trend": [sparkline.trend(trends[k]) if k in trends else "" for k in keys],
        "slope": [
            sparkline.intervals([row], at=0.0, span=(-reach, reach)) for row in slopes
        ],
        "chance_no_gain": rows["chance_no_gain"],
        **{
            name: [
                sparkline.intervals([tuple(row)], at=0.0, span=(-0.1, 0.1))
                for row in rows[[name, f"{name}_low", f"{name}_high"]].to_numpy(float)
            ]
            for name in ("change_4w", "change_8w")
        },
        "pain": rows["pain"],
        "ratios": [
            sparkline.intervals(
                [
                    tuple(r[n] / r["cohort"] for n in ("ratio", "low", "high"))
                    for r in own
                ],
                at=1.0,
                span=(0.85, 1.15),
            )
            for own in rows["ratios"]
        ],
        "sides": [sparkline.intervals([row], at=1.0, span=(0.8, 1.2)) for row in sides],
    }
    plain = ["lean_frac", "cheat_frac", "effort_frac", "sets", "flagged", "watched"]
    rest = rows[[*plain, "stalled_since", "last_on", "setup", "basis"]]
    rest = rest.assign(outliers=rows["outliers"].map(len))
    shares = [name for name in plain if name.endswith("_frac")]
    return pd.DataFrame(shown).join(rest.round(dict.fromkeys(shares, 2)))


def clients_sentence(rows: pd.DataFrame) -> str:
    """Say who is likeliest to have stalled."""
    first = rows.iloc[0]
    chance = f"probability {first['chance_no_gain']:.2f}"
    if len(rows) == 1:
        return f"{first['lifter']} may not be gaining, {chance}"
    return (
        f"{len(rows):,} lifters; {first['lifter']} is the likeliest not to be gaining, "
        f"{chance}"
    )


def client_reason(row: pd.Series) -> str:
    """Say why a client stands where they stand: trend, best day, pain."""
    told = f"{row['lifter']}, {label(row['setup'])}: {row['sentence']}"
    if row["below_best_frac"] > 0:
        told += (
            f" Highest estimate on {row['best_on']:%Y-%m-%d}; the last one lies "
            f"{row['below_best_frac']:.0%} below it."
        )
    changed = advice.change_sentence(row)
    told += f" {changed}" if changed else ""
    if row["basis"] == advice.ASSUMED:
        told += f" Assumed: {advice.PRIOR_ONLY}."
    if row["outliers"]:
        told += f" Look at this again: {row['outliers'][0]}"
    if row["pain"] > 0:
        told += f" Pain {row['pain']:g} of 10, last on {row['pain_on']:%Y-%m-%d}."
    return told


def work(choice: Choice, fit: StrengthFit) -> advice.DirectWork:
    """Return weekly direct and indirect work beside girth and strength."""
    direct = advice.direct_movement()
    if choice.movement != direct:
        other = results.seen(replace(choice, movement=direct))
        slopes = fit.slopes.head(0) if other is None else other.slopes
    else:
        slopes = fit.slopes

    def make() -> advice.DirectWork:
        own = read(
            stored.sets, lifter=choice.lifter, since=choice.since, until=choice.until
        )
        bodies = read(stored.bodies, lifter=choice.lifter)
        return advice.direct_work(own, bodies, slopes, lifter=choice.lifter)

    return cached("work", (*fit_key(choice), choice.lifter, stamp()), make)


def direct_each() -> str:
    """Return what one exercise of the direct movement is called."""
    movement = load_catalogue().movements[advice.direct_movement()]
    return movement.each or movement.title.lower()


def technique(choice: Choice, fit: StrengthFit) -> advice.Technique:
    """Return logged lean, cheating and stance against load."""

    def make() -> advice.Technique:
        own = sets(choice, lifter=choice.lifter)
        bodies = read(stored.bodies, lifter=choice.lifter)
        return advice.technique(own, fit.trend, lifter=choice.lifter, bodies=bodies)

    return cached("technique", (*fit_key(choice), choice.lifter, stamp()), make)


def lockout(choice: Choice, fit: StrengthFit) -> tuple[pd.DataFrame, tuple[str, ...]]:
    """Return the lift with and without lockout, in numbers and in words."""

    def make() -> tuple[pd.DataFrame, tuple[str, ...]]:
        body, _ = body_of(choice)
        return advice.lockout(choice.movement, fit=fit, lifter=choice.lifter, body=body)

    return cached("lockout", (*fit_key(choice), choice.lifter, stamp()), make)


REPORT_KINDS = {"html": "text/html", "pdf": "application/pdf"}


def _report_key(choice: Choice, kind: str) -> tuple[str, Hashable]:
    return "report", (stamp(), choice.lifter, choice.movement, kind, date.today())


def report_is_written(choice: Choice, kind: str) -> bool:
    """Tell whether today's report of this log is there."""
    return is_cached(*_report_key(choice, kind))


def report(choice: Choice, kind: str) -> bytes:
    """Return the report of the chosen lifter, its bytes as HTML or PDF."""
    results.fit(
        replace(choice, since=None, until=None)
    )  # stored first: it changes the stamp

    def make() -> bytes:
        with (
            progress("Writing the report"),
            tempfile.TemporaryDirectory() as folder,
        ):
            path = Path(folder) / f"report.{kind}"
            reports.write_report(store(), choice.lifter, path, movement=choice.movement)
            return path.read_bytes()

    return cached(*_report_key(choice, kind), make)
