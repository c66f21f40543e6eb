"""One movement in the report of one lifter: facts, pictures, verdict."""

from datetime import date
from typing import Any

import pandas as pd

from analytics import advice, evidence, mechanics, strength
from analytics.catalogue import load_catalogue, say_setups
from analytics.charts import ratios, through_range
from analytics.charts import strength as charted
from analytics.charts.theme import svg
from analytics.evidence import CurveTest
from analytics.reports.reader import seen_by, withheld_words
from analytics.reports.since import lifts_since
from analytics.store import Store

WIDTH, HEIGHT = 620, 190  # of a picture
MOST_LINES = 4
MOST_RATIOS = 8  # as many as stay readable on the first page
MOST_SIDES = 4
MOST_OUTLIERS = 3
_IDEA = "you are strongest in the middle of the range, as published"
VERDICTS = {
    "agrees": f"Your own log agrees: {_IDEA}.",
    "disagrees": f"Your own log disagrees: it does not look as if {_IDEA}.",
    "not enough data yet": f"Your own log cannot tell yet whether {_IDEA}.",
}


def movement_part(
    store: Store,
    lifter: str,
    movement: str,
    *,
    sets: pd.DataFrame,
    body: pd.DataFrame,
    since: date,
    unit: str,
) -> tuple[strength.StrengthFit, dict[str, Any]]:
    """Say and draw what one lifter's log tells of one movement.

    Parameters
    ----------
    store : Store
        Where the sets are.
    lifter : str
        Code.
    movement : str
        One the lifter has sets of.
    sets : DataFrame
        Stored sets of all movements.
    body : DataFrame
        The lifter's body as measured.
    since : date
        Changes are told against it.
    unit : str
        ``kg`` or ``lb``, of the loads of its pictures.

    Returns
    -------
    fit : StrengthFit
        As the lifter may see it.
    part : dict
        What the page prints of it.
    """
    everyone = strength.fitted(store, movement)
    fit = seen_by(everyone, lifter)
    row = advice.clients(fit, sets[sets["lifter"] == lifter]).iloc[0]
    part = _facts(fit, lifter, row)
    part["lifts"] = lifts_since(fit, lifter, since)
    part["withheld"] = withheld_words(everyone, fit)
    part["verdict"] = ""
    main, curve = _main_variant(fit, lifter), None
    if main is not None:
        curve = evidence.curve_test(fit, lifter=lifter)
        part["verdict"] = _verdict(curve, sore=row["pain"] > 0)
    part |= _pictures(fit, lifter, body, main, curve, unit)
    seen = advice.technique(
        sets[sets["movement"] == movement], fit.trend, lifter=lifter, bodies=body
    )
    noted = (seen.sets["lifter"] == lifter).any()
    part["technique"] = [*map(in_words, seen.sentences)] if noted else []
    return fit, part


def in_words(text: str) -> str:
    """Put variants of a setup or sentence by their titles, and ranges in words."""
    known = load_catalogue().variants
    return say_setups(text, {name: known[name].title for name in known})


def _facts(fit: strength.StrengthFit, lifter: str, row: pd.Series) -> dict[str, Any]:
    headline = ["Not enough data yet for a strength."]
    if row["setup"]:
        best = advice.known_best(advice.by_repetitions(fit, lifter, row["setup"]))
        now = (
            f"{in_words(row['setup'])}, once: about {row['strength_kg']:.1f} kg "
            f"({row['low_kg']:.1f} to {row['high_kg']:.1f} kg), estimated; {best}."
        )
        headline = [now, row["sentence"]]
    sides = fit.sides[fit.sides["lifter"] == lifter]
    return {
        "title": load_catalogue().movements[fit.movement].title
        if fit.movement in load_catalogue().movements
        else fit.movement,
        "headline": [text for text in headline if text],
        "assumed": row["basis"] == advice.ASSUMED,
        "outliers": [in_words(text) for text in row["outliers"][:MOST_OUTLIERS]],
        "reference": in_words(fit.reference),
        "sides": _side_sentences(sides),
    }


def _side_sentences(sides: pd.DataFrame) -> list[str]:
    """Left against right: clear differences first, then the most logged."""
    clear = (sides["low"] > 1) | (sides["high"] < 1)
    sides = sides.assign(clear=clear).sort_values(
        ["clear", "sets"], ascending=False, kind="stable"
    )
    more = sides.iloc[MOST_SIDES:]
    return [
        f"Left over right, {in_words(side['setup'])}: {side['left_right_ratio']:.2f} "
        f"({side['low']:.2f} to {side['high']:.2f}), {side['sets']:.0f} sets."
        for _, side in sides.head(MOST_SIDES).iterrows()
    ] + [
        f"Of {len(more)} more with both sides logged, {more['clear'].sum()} differ "
        "clearly."
    ] * bool(len(more))


def _verdict(curve: CurveTest, *, sore: bool) -> str:
    """Say in plain words what the lifter's own log tells of the curve.

    Who is in pain is not told to hold a weight to failure.
    """
    told = VERDICTS[curve.verdict]
    if curve.verdict in ("agrees", "disagrees") or sore:
        return told
    if len(curve.more_data):
        step = str(curve.more_data["sentence"].iloc[0]).split(";")[0]
        _, _, what = step.partition(": ")
        return f"{told} It would help most to log {in_words(what)}."
    return (
        f"{told} Nothing can be compared yet: log {in_words(curve.reference)} and "
        "three other exercises in the same weeks."
    )


def _pictures(
    fit: strength.StrengthFit,
    lifter: str,
    body: pd.DataFrame,
    variant: str | None,
    curve: CurveTest | None,
    unit: str,
) -> dict[str, Any]:
    done = _done(fit, lifter)
    compared_at = evidence.compared_at(
        fit.ratios[fit.ratios["setup"].isin(done["setup"])]
    )
    drawn = {
        "strength": _strength(fit.trend[fit.trend["lifter"] == lifter], unit),
        "ratios": _ratios(fit, done.head(MOST_RATIOS), curve, compared_at),
        "range": "",
    }
    size, size_words = advice.measured_body(body)
    if variant is not None:
        through = mechanics.through_range(
            variant,
            body_mass_kg=size.mass_kg,
            stature_m=size.stature_m,
            forearm_m=size.length_m["forearm"],
        )
        joint = load_catalogue().variants[variant].model.joint
        drawn["range"] = svg(
            through_range.moments(through, joint=joint, finding=""),
            width=WIDTH,
            height=HEIGHT,
        )
    return {
        "figures": drawn,
        "ratios_shown": (
            f"The {MOST_RATIOS} most logged of {len(done)}. "
            if len(done) > MOST_RATIOS
            else ""
        )
        + compared_at,
        "range_title": in_words(variant) if variant else "",
        "body": size_words,
    }


def _strength(trend: pd.DataFrame, unit: str) -> str:
    """Picture of the setups with most sets over time."""
    if trend.empty:
        return ""
    most = trend.groupby("setup")["sets"].sum().nlargest(MOST_LINES).index
    shown = pd.concat([trend[trend["setup"] == setup] for setup in most])
    shown = shown.assign(reps=1, setup=shown["setup"].map(in_words))
    return svg(charted.compared(shown, by="setup"), unit, width=WIDTH, height=HEIGHT)


def _main_variant(fit: strength.StrengthFit, lifter: str) -> str | None:
    """Modelled variant with most sets."""
    catalogue = load_catalogue().variants
    trend = fit.trend[fit.trend["lifter"] == lifter]
    counts = trend.groupby("variant")["sets"].sum().sort_values(ascending=False)
    modelled = [v for v in counts.index if v in catalogue and catalogue[v].modelled]
    return modelled[0] if modelled else None


def _done(fit: strength.StrengthFit, lifter: str) -> pd.DataFrame:
    """Own ratios of what the lifter has done, the most logged first."""
    mine = fit.personal[
        (fit.personal["lifter"] == lifter)
        & (fit.personal["sets"] > 0)
        & (fit.personal["setup"] != fit.reference)
    ]
    return mine.sort_values("sets", ascending=False, kind="stable")


def _ratios(
    fit: strength.StrengthFit,
    mine: pd.DataFrame,
    curve: CurveTest | None,
    compared_at: str,
) -> str:
    """Picture of the own ratios beside everyone's and the model's."""
    if mine.empty:
        return ""
    rows = evidence.by_source(
        {ratios.OWN: mine, ratios.EVERYONE: fit.ratios},
        None if curve is None or curve.residuals.empty else curve.residuals,
    )
    chart = ratios.side_by_side(
        rows.assign(setup=rows["setup"].map(in_words)),
        reference=in_words(fit.reference),
        finding="",
        compared_at=compared_at,
    )
    return svg(chart, width=WIDTH, height={"step": 12})
