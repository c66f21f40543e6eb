"""Sundays in the gym: a pull, a leg curl and a calf raise, kept in French.

Drawn with a seed of its own, so that the other logs stay as they are. No number here
was measured on anybody; the truth goes into ``truth.toml``.
"""

import math
import random
from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date, timedelta

from winter_block import (
    CLOSED_WEEKS,
    FIRST_MONDAY,
    LIFTERS,
    SEED,
    WEEKS,
    Lifter,
    effort,
    reps_to_failure,
)

DAY_SD = 0.03
RATIO_SD = 0.06  # between lifters, log scale, of each exercise
PULLS, LEGS, CALVES = (10, 8, 8, 6), (12, 12, 10, 10), (15, 15, 12, 12)


@dataclass(frozen=True)
class Exercise:
    """What is done on Sundays, and how this coach writes it.

    Load liftable once as a share of body mass, the body included where it is lifted;
    per hand where there is one dumbbell.
    """

    variant: str
    name: str
    once: float
    step_kg: float
    plan: tuple[int, ...]
    body: bool = False


ROWS = {
    "dumbbell_row": Exercise("dumbbell_row", "rowing haltère", 0.47, 2.0, PULLS),
    "seated_cable_row": Exercise(
        "seated_cable_row", "tirage horizontal", 0.92, 5.0, PULLS
    ),
    "pull_up": Exercise("pull_up", "tractions pronation", 1.27, 1.25, PULLS, body=True),
}
LYING = Exercise("lying_leg_curl", "leg curl couché", 0.72, 5.0, LEGS)
SEATED = Exercise("seated_leg_curl", "leg curl assis", 0.80, 5.0, LEGS)
STANDING_CALF = Exercise(
    "standing_calf_raise", "mollets debout", 2.40, 10.0, CALVES, body=True
)
SEATED_CALF = Exercise("seated_calf_raise", "mollets assis", 1.30, 5.0, CALVES)
DOERS = {
    "R01": "seated_cable_row",
    "R02": "dumbbell_row",
    "R05": "dumbbell_row",
    "R08": "seated_cable_row",
    "R10": "seated_cable_row",
    "R12": "pull_up",
}
EXERCISES = (*ROWS.values(), LYING, SEATED, STANDING_CALF, SEATED_CALF)
HEAD = ["Jour", "Qui", "Exercice", "Charge", "Séries", "Répétitions", "Réserve"]
HEAD += ["Échec", "Poids", "Remarque"]


def sunday(week: int) -> date:
    """Last day of a week of the block."""
    return FIRST_MONDAY + timedelta(weeks=week, days=6)


def done(
    rng: random.Random, lifter: Lifter, exercise: Exercise, once_kg: float, week: int
) -> Iterator[tuple[float, int, int | None, bool]]:
    """Three sets as planned: load written down, repetitions, reserve, failed."""
    target = exercise.plan[week % 4]
    body = lifter.mass_kg if exercise.body else 0.0
    share = next(
        x / 100 for x in range(100, 0, -1) if reps_to_failure(x / 100) >= target + 2
    )
    planned = once_kg * share * math.exp(rng.gauss(0, 0.03)) - body
    load = max(0.0, round(planned / exercise.step_kg) * exercise.step_kg)
    able_kg = once_kg * math.exp(rng.gauss(0, DAY_SD))
    for number in range(3):
        row = effort(rng, lifter, (load + body) / able_kg, number, target)
        yield load, row["reps"], row["rir"], row["failed"]


def table() -> list[list[str]]:
    """Every Sunday, with equal sets counted."""
    rng, lines = random.Random(SEED + 1), []
    keeps = {x.code: replace(x, effort_missing=0.35) for x in LIFTERS}
    offs = {
        code: {x.variant: math.exp(rng.gauss(0, RATIO_SD)) for x in EXERCISES}
        for code in DOERS
    }
    for exercise in EXERCISES:  # the ratio written down as true is that of its doers
        name = exercise.variant
        doers = [code for code, row in DOERS.items() if name == row or name not in ROWS]
        middle = math.prod(offs[code][name] for code in doers) ** (1 / len(doers))
        for code in doers:
            offs[code][name] /= middle
    for week in range(WEEKS):
        for code, row in DOERS.items():
            if week in CLOSED_WEEKS or rng.random() < 0.1:  # regatta, cold, family
                continue
            lifter = keeps[code]
            mass = f"{lifter.mass_kg + rng.gauss(0, 0.4):.1f}".replace(".", ",")
            legs = (LYING, STANDING_CALF) if week % 2 else (SEATED, SEATED_CALF)
            for exercise in (ROWS[row], *legs):
                once_kg = exercise.once * lifter.mass_kg * offs[code][exercise.variant]
                once_kg *= math.exp(0.8 * lifter.level[week])
                lines += written(rng, lifter, exercise, once_kg, week, mass)
    return lines


def written(
    rng: random.Random,
    lifter: Lifter,
    exercise: Exercise,
    once_kg: float,
    week: int,
    mass: str,
) -> list[list[str]]:
    """One exercise of a day as it stands in the table."""
    lines: list[list[str]] = []
    for load, reps, rir, failed in done(rng, lifter, exercise, once_kg, week):
        line = [sunday(week).strftime("%d/%m/%Y"), lifter.code, exercise.name]
        line += [f"{load:g}".replace(".", ","), "1", str(reps)]
        line += ["" if rir is None else str(rir), "oui" if failed else "", mass, ""]
        if lines and line[:4] + line[5:] == lines[-1][:4] + lines[-1][5:]:
            lines[-1][4] = str(int(lines[-1][4]) + 1)
        else:
            lines.append(line)
    if exercise.variant == "dumbbell_row" and week == 0:
        lines[0][-1] = "par main"
    return lines


def truth_lines() -> list[str]:
    """Return what Sundays were drawn from, as TOML."""
    return [
        "",
        "# Sundays: load liftable once ÷ body mass at the start, the body included",
        "# where it is lifted, per hand with one dumbbell.",
        "[sundays]",
        *(f"{x.variant} = {x.once}" for x in EXERCISES),
    ]
