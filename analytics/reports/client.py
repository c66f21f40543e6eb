"""The report for one lifter: two pages in plain words, HTML or PDF."""

from datetime import date
from importlib import metadata, resources
from pathlib import Path
from typing import Any

import jinja2
import pandas as pd

from analytics import advice, evidence, mechanics, strength
from analytics.catalogue import load_catalogue, main_movement, say_setups
from analytics.charts import ratios, through_range
from analytics.charts import strength as charted
from analytics.charts.theme import svg
from analytics.errors import FileRefusedError, InputError
from analytics.labels import typeset
from analytics.reports.disclosure import SMALLEST_CELL, may_show
from analytics.reports.printing import pdf_of
from analytics.reports.reader import seen_by, withheld_words
from analytics.reports.whole import write_whole
from analytics.store import Store, bodies, private_files, sets_and_pains

REPS, RIR = advice.REPS, advice.RIR
WIDTH, HEIGHT = 620, 190  # of a picture
MOST_LINES = 4
MOST_RATIOS = 8  # as many as stay readable on the first page
MOST_SIDES = 4
MOST_OUTLIERS = 3
LONG_LETTERS = 2200  # of advice; above it the second page has smaller type

NOTHING = "<p>Not enough data yet for this picture.</p>"


@private_files()
def write_report(
    store: Store,
    lifter: str,
    path: Path,
    *,
    movement: str | None = None,
    step_kg: float | None = None,
) -> Path:
    """Write the two-page report of one lifter.

    Parameters
    ----------
    store : Store
        Where the sets are.
    lifter : str
        Code.
    path : Path
        Ends in ``.html`` or ``.pdf``.
    movement : str, optional
        Which movement; that with most sets, one with mechanics before others.
    step_kg : float, optional
        Smallest change of load, for the suggested loads; that of each implement if
        not given. [kg]

    Returns
    -------
    path : Path
        The same.

    Raises
    ------
    InputError
        If the ending is another one, the lifter has no sets, or a PDF is asked for
        and cannot be set.
    FileRefusedError
        If the file cannot be written.
    """
    if path.suffix.lower() not in (".html", ".pdf"):
        raise InputError(f"'{path.name}' must end in .html or .pdf")
    page = report_html(store, lifter, movement=movement, step_kg=step_kg)
    content = page.encode() if path.suffix.lower() == ".html" else pdf_of(page)
    try:
        write_whole(path, content)
    except OSError as error:
        raise FileRefusedError(f"cannot write {path}: {error}") from error
    return path


def report_html(
    store: Store,
    lifter: str,
    *,
    movement: str | None = None,
    step_kg: float | None = None,
) -> str:
    """Compose the report of one lifter as one HTML page without outside parts.

    Parameters
    ----------
    store : Store
        Where the sets are.
    lifter : str
        Code.
    movement : str, optional
        Which movement; that with most sets, one with mechanics before others.
    step_kg : float, optional
        Smallest change of load, for the suggested loads; that of each implement if
        not given. [kg]

    Returns
    -------
    page : str
        HTML.

    Raises
    ------
    InputError
        If the lifter has no sets of the movement.
    """
    sets = sets_and_pains(store)
    if movement is None:
        counts = sets.loc[sets["lifter"] == lifter, "movement"].value_counts()
        movement = main_movement(counts.to_dict())
    own = sets[(sets["lifter"] == lifter) & (sets["movement"] == movement)]
    if own.empty:
        there = ", ".join(
            sorted(sets.loc[sets["movement"] == movement, "lifter"].unique())
        )
        raise InputError(
            f"no sets of lifter '{lifter}' in {movement}; lifters with sets: "
            f"{there or 'none'}"
        )
    everyone = strength.fitted(store, movement)
    fit = seen_by(everyone, lifter)
    content = _facts(fit, lifter, own)
    content["withheld"] = withheld_words(everyone, fit)
    curve, verdict = _curve_test(everyone, fit, lifter)
    content |= _pictures(fit, lifter, bodies(store, lifter=lifter), curve)
    content["verdict"] = verdict
    content |= _loads(fit, lifter, sets, own, step_kg)
    content |= _work(fit, lifter, sets, bodies(store, lifter=lifter))
    advised = [*content["load_notes"], *content["work"], content["verdict"]]
    content["long"] = sum(map(len, advised)) > LONG_LETTERS
    template = resources.files("analytics.reports").joinpath("templates", "client.html")
    environment = jinja2.Environment(
        autoescape=True, undefined=jinja2.StrictUndefined, finalize=typeset
    )
    return environment.from_string(template.read_text("utf-8")).render(content)


def _in_words(text: str) -> str:
    """Put variants of a setup or sentence by their titles, and ranges in words."""
    known = load_catalogue().variants
    return say_setups(text, {name: known[name].title for name in known})


def _facts(fit: strength.StrengthFit, lifter: str, own: pd.DataFrame) -> dict[str, Any]:
    known = own["rir"].notna() | own["failed"].fillna(False).astype(bool)
    row = advice.clients(fit, own).iloc[0]
    headline, changed = ["Not enough data yet for a strength."], ""
    if row["setup"]:
        best = advice.known_best(advice.by_repetitions(fit, lifter, row["setup"]))
        now = (
            f"{_in_words(row['setup'])}, once: about {row['strength_kg']:.1f} kg "
            f"({row['low_kg']:.1f} to {row['high_kg']:.1f}), estimated; {best}."
        )
        headline = [now, row["sentence"]]
        changed = advice.change_sentence(row)
    sides = fit.sides[fit.sides["lifter"] == lifter]
    return {
        "title": load_catalogue().movements[fit.movement].title
        if fit.movement in load_catalogue().movements
        else fit.movement,
        "lifter": lifter,
        "first": f"{own['performed_on'].min():%Y-%m-%d}",
        "last": f"{own['performed_on'].max():%Y-%m-%d}",
        "sets": len(own),
        "effort": f"{known.mean():.0%}",
        "flagged": int((own["flag"] != "").sum()),
        "printed": date.today().isoformat(),
        "version": metadata.version("lacertus"),
        "headline": [text for text in headline if text],
        "changed": changed,
        "assumed": row["basis"] == advice.ASSUMED,
        "outliers": [_in_words(text) for text in row["outliers"][:MOST_OUTLIERS]],
        "relation": advice.relation_sentence(fit, lifter, row["setup"]),
        "interval": f"{fit.interval:.0%}",
        "reference": _in_words(fit.reference),
        "method": fit.method,
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
        f"Left over right, {_in_words(side['setup'])}: {side['left_right_ratio']:.2f} "
        f"({side['low']:.2f} to {side['high']:.2f}), {side['sets']:.0f} sets."
        for _, side in sides.head(MOST_SIDES).iterrows()
    ] + [
        f"Of {len(more)} more with both sides logged, {more['clear'].sum()} differ "
        "clearly."
    ] * bool(len(more))


def _curve_test(
    everyone: strength.StrengthFit, seen: strength.StrengthFit, lifter: str
) -> tuple[evidence.CurveTest, str]:
    """Test the cohort where enough others are in it, else the lifter's own log."""
    others = everyone.set_points["lifter"]
    if may_show(list(others[others != lifter]), smallest_cell=SMALLEST_CELL):
        curve, whose = evidence.curve_test(everyone), "over all lifters"
    else:
        curve, whose = evidence.curve_test(seen, lifter=lifter), "of your own log"
    told = f"The curve test {whose} says: {curve.verdict}."
    return curve, " ".join([told, *curve.reasons[:2]])


def _pictures(
    fit: strength.StrengthFit,
    lifter: str,
    body: pd.DataFrame,
    curve: evidence.CurveTest,
) -> dict[str, Any]:
    done = _done(fit, lifter)
    compared_at = evidence.compared_at(
        fit.ratios[fit.ratios["setup"].isin(done["setup"])]
    )
    drawn = {
        "strength": _strength(fit.trend[fit.trend["lifter"] == lifter]),
        "ratios": _ratios(fit, done.head(MOST_RATIOS), curve.residuals, compared_at),
        "range": "",
    }
    size, size_words = advice.measured_body(body)
    variant = _main_variant(fit, lifter)
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
        "range_title": _in_words(variant) if variant else "",
        "body": size_words,
    }


def _strength(trend: pd.DataFrame) -> str:
    """Picture of the setups with most sets over time."""
    if trend.empty:
        return NOTHING
    most = trend.groupby("setup")["sets"].sum().nlargest(MOST_LINES).index
    shown = pd.concat([trend[trend["setup"] == setup] for setup in most])
    shown = shown.assign(reps=1, setup=shown["setup"].map(_in_words))
    return svg(charted.compared(shown, by="setup"), width=WIDTH, height=HEIGHT)


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
    modelled: pd.DataFrame,
    compared_at: str,
) -> str:
    """Picture of the own ratios beside everyone's and the model's."""
    if mine.empty:
        return NOTHING
    rows = evidence.by_source(
        {ratios.OWN: mine, ratios.EVERYONE: fit.ratios},
        modelled if len(modelled) else None,
    )
    chart = ratios.side_by_side(
        rows.assign(setup=rows["setup"].map(_in_words)),
        reference=_in_words(fit.reference),
        finding="",
        compared_at=compared_at,
    )
    return svg(chart, width=WIDTH, height={"step": 12})


def _loads(
    fit: strength.StrengthFit,
    lifter: str,
    sets: pd.DataFrame,
    own: pd.DataFrame,
    step_kg: float | None,
) -> dict[str, Any]:
    variants = own["variant"].value_counts().head(5).index
    table = pd.concat(
        [
            advice.next_load(
                fit, lifter, v, sets=sets, reps=REPS, rir=RIR, step_kg=step_kg
            )
            for v in variants
        ]
    )
    known = table[table["load_kg"].notna()]
    said = [[part for part in text.split(". ") if part] for text in table["caution"]]
    for variant, parts in zip(table["variant"], said, strict=True):
        if parts[0].startswith("no step"):
            parts[0] = f"{variant}: {parts[0]}"
    notes = dict.fromkeys(part for parts in said for part in parts)
    held = {
        n for n in notes if n.startswith(("held to", "more than"))
    }  # of one variant
    return {
        "reps": REPS,
        "rir": RIR,
        "loads": [
            {
                "variant": _in_words(r["variant"]),
                "load": f"{r['load_kg']:g}",
                "interval": f"{r['low_kg']:.1f} to {r['high_kg']:.1f}",
                "basis": ", ".join(
                    [r["basis"].split(";")[0].split(" of ")[0]]
                    + [note for note in held if note in r["caution"]]
                    + [advice.ASSUMED] * (advice.PRIOR_ONLY in r["caution"])
                ),
            }
            for _, r in known.iterrows()
        ],
        "load_notes": [
            _in_words(note[:1].upper() + note[1:]) for note in notes if note not in held
        ],
    }


def _work(
    fit: strength.StrengthFit, lifter: str, sets: pd.DataFrame, body: pd.DataFrame
) -> dict[str, Any]:
    said: list[str] = []
    cannot_say: tuple[str, ...] = ()
    if fit.movement == advice.direct_movement():
        done = advice.direct_work(sets, body, fit.slopes, lifter=lifter)
        said, cannot_say = [*done.can_say], done.cannot_say
    seen = advice.technique(
        sets[sets["movement"] == fit.movement],
        fit.trend,
        lifter=lifter,
        bodies=body,
    )
    said += seen.sentences
    sore = sets[(sets["lifter"] == lifter) & (sets["pain"] > 0)]
    if len(sore):
        days = sore["performed_on"].nunique()
        said.append(
            f"Pain was logged on {days} day{'s' * (days != 1)}, last on "
            f"{sore['performed_on'].max():%Y-%m-%d}."
        )
    return {"work": [*map(_in_words, said)], "cannot_say": cannot_say}
