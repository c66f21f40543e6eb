"""Write the invented winter block of a rowing club, and the truth behind it.

Run ``python sample_logs/make_logs.py`` to renew the files beside this one.
Nobody in them exists. The generator shares no code with the library, so that
the library can be held against it; every number below is invented, and sized
so that the truth resembles the published figures named in ``truth.toml``.
"""

import csv
import io
import math
import random
import re
import sys
import zipfile
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from datetime import date, timedelta
from pathlib import Path
from typing import Any

from openpyxl import Workbook

FOLDER = Path(__file__).parent
SEED = 20251006
FIRST_MONDAY = date(2025, 10, 6)
WEEKS = 24
CLOSED_WEEKS = (11, 12)  # the club is shut over the turn of the year
KG_PER_LB = 0.45359237

# One-repetition load per working arm, as a fraction of the standing barbell curl.
RATIO = {
    "standing_barbell_curl": 1.00,
    "standing_dumbbell_curl": 0.98,
    "one_arm_dumbbell_curl": 1.00,
    "no_lockout_curl": 1.01,
    "preacher_curl_45": 0.60,
    "preacher_curl_45 [50:120]": 0.78,
    "preacher_curl_60": 0.53,
    "incline_curl_45": 0.95,
    "concentration_curl": 0.92,
    "low_cable_curl @ stack 1": 0.98,
    "low_cable_curl @ stack 2": 1.12,
    "hammer_curl": 1.08,
}
# Elbow angle at which a set that fails comes to rest. [deg]
STICKING_DEG = {
    "standing_barbell_curl": 88,
    "standing_dumbbell_curl": 88,
    "one_arm_dumbbell_curl": 88,
    "no_lockout_curl": 88,
    "preacher_curl_45": 34,
    "preacher_curl_45 [50:120]": 54,
    "preacher_curl_60": 33,
    "incline_curl_45": 80,
    "concentration_curl": 85,
    "low_cable_curl @ stack 1": 75,
    "low_cable_curl @ stack 2": 75,
    "hammer_curl": 88,
}
# Load held still at an elbow angle ÷ one-repetition load of the same variant.
HOLD = {
    "standing_barbell_curl": {45: 1.05, 70: 1.03, 90: 1.02, 110: 1.04},
    "preacher_curl_45": {40: 1.08, 60: 1.45, 80: 1.95},
}
TWO_HANDED = {"standing_barbell_curl", "no_lockout_curl", "low_cable_curl"} | {
    "preacher_curl_45",
    "preacher_curl_60",
}
# Pulls: one-repetition load ÷ body mass, step of the kit in kg.
PULL = {"barbell_row": (0.95, 2.5), "chin_up": (1.32, 1.25)} | {
    "pulldown": (0.98, 5.0),
    "deadlift": (1.75, 2.5),
}
STEP_KG = {"bar": 2.5, "stack": 2.5, "dumbbell": 1.0}
DAY_SD = 0.034
SET_SD = 0.010
WALK_SD = 0.019  # per square root of a week
RATIO_SD = 0.035  # between lifters, log scale
REPS_LOST_PER_SET = 0.2
LEAN_FROM = 0.82  # of that day's one-repetition load
LEAN_DEG = 65.0  # per unit of relative load above it


@dataclass
class Lifter:
    """One invented lifter: the truth and the habits."""

    code: str
    curl_kg: float
    growth: float  # log strength per week
    mass_kg: float
    stature_m: float
    variants: tuple[str, ...]
    pulls: tuple[str, ...]
    effort_missing: float = 0.22
    weeks: range = range(WEEKS)
    left_right: float = 0.99
    stalls_at: int = WEEKS
    level: list[float] = field(default_factory=list)
    delta: dict[str, float] = field(default_factory=dict)


SB, SD, OA, NL = list(RATIO)[:4]
P45, P45C, P60, INC, CON, LC1, LC2, HAM = list(RATIO)[4:]
ROW, CHIN, DOWN, DEAD = PULL
LIFTERS = [
    Lifter("R01", 42.0, 0.004, 81, 1.86, (P45, INC, SD), (ROW, CHIN)),
    Lifter("R02", 36.5, 0.005, 74, 1.79, (NL, P45, HAM), (ROW, DOWN)),
    Lifter("R03", 30.5, 0.010, 69, 1.75, (P45, CON, OA), (DOWN, DEAD)),
    Lifter("R04", 47.0, 0.003, 90, 1.93, (P45, INC, LC1), (ROW, DEAD), 0.05),
    Lifter("R05", 27.0, 0.006, 63, 1.71, (P45C, P45, CON), (ROW, DOWN)),
    Lifter("R06", 44.0, 0.006, 86, 1.88, (INC, P60, SD), (CHIN, DEAD), stalls_at=7),
    Lifter("R07", 33.5, 0.005, 72, 1.77, (NL, HAM, P45), (ROW, CHIN)),
    Lifter("R08", 39.5, 0.004, 79, 1.84, (P45, LC1, CON), (ROW, DOWN)),
    Lifter("R09", 35.0, 0.005, 76, 1.81, (P60, INC, HAM), (ROW, DEAD)),
    Lifter("R10", 25.5, 0.007, 61, 1.69, (P45, SD, LC2), (DOWN,), 0.65),
    Lifter("R11", 38.0, 0.004, 78, 1.82, (OA, P45, INC), (ROW, CHIN), left_right=0.91),
    Lifter("R12", 41.0, 0.005, 84, 1.90, (SD, INC, LC2), (ROW, DEAD)),
    Lifter("R13", 34.0, 0.005, 73, 1.78, (P45, SD), (DOWN,), weeks=range(18, 23)),
    Lifter("R14", 37.0, 0.005, 77, 1.80, (P45, HAM, CON), (ROW, CHIN), 0.30),
]


def variant_of(setup: str) -> str:
    """Variant id of a setup label."""
    return re.split(r" @ | \[", setup)[0]


def equipment_of(setup: str) -> str:
    """Station of a setup label, empty if it names none."""
    return setup.partition(" @ ")[2]


def hands(setup: str) -> int:
    """Number of arms that share the load as it is logged."""
    return 2 if variant_of(setup) in TWO_HANDED else 1


def reps_to_failure(relative_load: float) -> float:
    """Repetitions at a fraction of the one-repetition load, Brzycki 1993."""
    return (1.0278 - relative_load) / 0.0278


def relative_load(reps: float) -> float:
    """Inverse of :func:`reps_to_failure`."""
    return 1.0278 - 0.0278 * reps


def live(rng: random.Random, lifter: Lifter) -> None:
    """Draw the lifter's strength by week and personal ratios."""
    walk = 0.0
    for week in range(WEEKS):
        if week < lifter.stalls_at:
            walk += rng.gauss(0, WALK_SD) + lifter.growth
        lifter.level.append(walk)
    lifter.delta = {
        setup: 0.0 if setup == SB else rng.gauss(0, RATIO_SD) for setup in RATIO
    }


def true_kg(lifter: Lifter, setup: str, week: int) -> float:
    """One-repetition load in the logged convention."""
    if setup in PULL:
        return PULL[setup][0] * lifter.mass_kg * math.exp(0.8 * lifter.level[week])
    per_arm = lifter.curl_kg / 2 * RATIO[setup]
    return per_arm * hands(setup) * math.exp(lifter.level[week] + lifter.delta[setup])


def in_pounds(lifter: Lifter, setup: str) -> bool:
    """Whether the kit is stamped in pounds: R14's gym, and R12's dumbbells."""
    return lifter.code == "R14" or (
        lifter.code == "R12" and setup in RATIO and hands(setup) == 1
    )


def step_of(lifter: Lifter, setup: str) -> float:
    """Smallest change of load the kit allows. [kg]"""
    if in_pounds(lifter, setup):
        return 5 * KG_PER_LB
    if setup in PULL:
        return PULL[setup][1]
    if equipment_of(setup):
        return STEP_KG["stack"]
    return STEP_KG["bar" if hands(setup) == 2 else "dumbbell"]


def one_exercise(
    rng: random.Random, lifter: Lifter, setup: str, week: int, day: date, day_log: float
) -> Iterator[dict[str, Any]]:
    """Three sets of one exercise as the lifter would write them down."""
    body = lifter.mass_kg if setup == CHIN else 0.0
    target, reserve = ((10, 2), (8, 2), (6, 1), (4, 1))[week % 4]
    fresh_kg = true_kg(lifter, setup, week)
    planned = fresh_kg * relative_load(target + reserve) * 1.03 ** rng.gauss(0, 1)
    step = step_of(lifter, setup)
    load = max(step if not body else 0.0, round((planned - body) / step) * step)
    sides = ("left", "right") if variant_of(setup) == OA else ("",)
    for number in range(3):
        last = number == 2
        for side in sides:
            weaker = (
                lifter.left_right**0.5 if side == "left" else lifter.left_right**-0.5
            )
            capacity = fresh_kg * math.exp(day_log + rng.gauss(0, SET_SD))
            capacity *= weaker if side else 1.0
            relative = (load + body) / capacity
            able = max(1, round(reps_to_failure(relative) - REPS_LOST_PER_SET * number))
            able = min(able, 25)
            failed = able < target or (last and rng.random() < 0.3)
            reps = able if failed else min(target + (last and able > target + 3), able)
            left = able - reps
            called = max(0, round(left + rng.gauss(0, 0.5 + 0.15 * left)))
            row = {
                "code": lifter.code,
                "day": day,
                "setup": setup,
                "load_kg": load,
                "reps": reps,
                "rir": None if rng.random() < lifter.effort_missing else called,
                "failed": failed,
                "side": side,
                "pounds": in_pounds(lifter, setup),
                "mass_kg": lifter.mass_kg,
            }
            if failed:
                row["rir"] = 0
                if setup in STICKING_DEG and rng.random() < 0.7:
                    angle = STICKING_DEG[setup] + rng.gauss(0, 7)
                    row["failed_at"] = 5 * round(angle / 5)
            if setup == P45C:
                row["range"] = (50, 120)
            elif setup == NL and rng.random() < 0.5:
                row["range"] = (30, 120)
            if setup in (SB, SD, HAM):
                lean = LEAN_DEG * max(0.0, relative - LEAN_FROM) + number
                lean = max(0.0, lean - 1 + rng.gauss(0, 1.0))
                row |= {"lean": round(lean), "heave": lean > 6 and rng.random() < 0.7}
                row["stance"] = "split" if lifter.code in ("R03", "R07") else "parallel"
            yield row


def holds(
    rng: random.Random, lifter: Lifter, week: int, day: date, day_log: float
) -> Iterator[dict[str, Any]]:
    """The heaviest five-second holds at a few angles, on a test day."""
    for setup, table in HOLD.items():
        if setup != SB and setup not in lifter.variants:
            continue
        for angle, ratio in table.items():
            able = true_kg(lifter, setup, week) * ratio
            able *= math.exp(day_log + rng.gauss(0, 0.02))
            yield {
                "code": lifter.code,
                "day": day,
                "setup": setup,
                "load_kg": round(able / 1.25) * 1.25,
                "reps": None,
                "rir": 0,
                "failed": True,
                "side": "",
                "pounds": False,
                "hold_s": 5,
                "angle": angle,
                "mass_kg": lifter.mass_kg,
            }


def block(rng: random.Random, lifter: Lifter) -> Iterator[dict[str, Any]]:
    """Every set of one lifter's winter, in order of day."""
    offset = LIFTERS.index(lifter) % 3
    for week in lifter.weeks:
        if week in CLOSED_WEEKS:
            continue
        for session in (0, 1):
            day = FIRST_MONDAY + timedelta(weeks=week, days=offset + 3 * session)
            day_log = rng.gauss(0, DAY_SD)
            mass = round(lifter.mass_kg + rng.gauss(0, 0.4), 1)
            turn = (week + session) % len(lifter.variants)
            curls = [lifter.variants[turn]]
            if session == 0 or week % 2:
                curls.insert(0, SB)
            pull = lifter.pulls[session % len(lifter.pulls)]
            for setup in (*curls, pull):
                for row in one_exercise(rng, lifter, setup, week, day, day_log):
                    row["mass_kg"] = mass
                    if lifter.code == "R09" and week >= 22 and setup in RATIO:
                        row |= {"pain": 4, "note": "inner elbow sore since Monday"}
                    yield row
            if (
                lifter.code in ("R01", "R03", "R04", "R08")
                and week % 7 == 5
                and session
            ):
                yield from holds(rng, lifter, week, day, day_log)
            if lifter.code in ("R01", "R06", "R08", "R12") and week % 3 == 0:
                load = round(2.3 * lifter.mass_kg * 1.004**week / 10) * 10
                for _ in range(2):
                    yield {
                        "code": lifter.code,
                        "day": day,
                        "setup": "leg press",
                        "load_kg": float(load),
                        "reps": 10,
                        "rir": rng.choice((1, 2, 2, 3)),
                        "failed": False,
                        "side": "",
                        "pounds": False,
                        "mass_kg": mass,
                    }


NORTH_NAMES = {
    SB: "Barbell curl",
    SD: "DB curl standing",
    OA: "1-arm DB curl",
    NL: "BB curl, no lockout",
    P45: "Preacher 45",
    P45C: "Preacher 45",
    P60: "Preacher steep (60)",
    INC: "Incline DB curl, low bench",
    CON: "Concentration curl",
    LC1: "Cable curl low",
    HAM: "Hammer curl",
    ROW: "Bent row",
    CHIN: "Chin-up (+kg)",
    DOWN: "Lat pulldown",
    DEAD: "Deadlift",
    "leg press": "Leg press",
}
NORTH_HEAD = ["Athlete", "Date", "Lift", "Kit", "Side", "Load (kg)", "Reps", "Reserve"]
NORTH_HEAD += [
    "Failed",
    "Stuck at",
    "From",
    "To",
    "Stance",
    "Lean",
    "Heave",
    "Hold (s)",
]
NORTH_HEAD += ["Hold angle", "Pain", "Body mass", "Remarks"]


def north_table(rng: random.Random, rows: list[dict[str, Any]]) -> list[list[Any]]:
    """Lay sets out the way the northern coach keeps them, flaws included."""
    table = []
    for row in rows:
        name = NORTH_NAMES[row["setup"]]
        if row["setup"] == SB and rng.random() < 0.012:
            name = "Barbel crul"
        start, stop = row.get("range", (None, None))
        lean = row.get("lean") if rng.random() < 0.8 else None
        table.append(
            [row["code"], row["day"], name, equipment_of(row["setup"]) or None]
            + [row["side"] or None, row["load_kg"], row["reps"], row["rir"]]
            + ["yes" if row["failed"] else None, row.get("failed_at"), start, stop]
            + [row.get("stance"), lean, "yes" if row.get("heave") else None]
            + [row.get("hold_s"), row.get("angle"), row.get("pain"), row["mass_kg"]]
            + [row.get("note")]
        )
    week = [line for line in table if line[0] == "R05" and week_of(line[1]) == 15]
    table += week  # pasted twice
    table[400][5] *= 100  # a slip of the decimal point
    table[401][6] = "eight"
    table[900][2] = "Finisher 21s"
    return table


def week_of(day: date) -> int:
    """Week of the block, from 0."""
    return (day - FIRST_MONDAY).days // 7


SOUTH_NAMES = {
    SB: "LH-Curl stehend",
    SD: "KH-Curl stehend",
    OA: "KH-Curl einarmig",
    P45: "Scottcurl 45°",
    P60: "Scottcurl 60°",
    INC: "KH-Curl Schrägbank 45°",
    CON: "Konzentrationscurl",
    LC1: "Kabelcurl unten",
    LC2: "Kabelcurl unten",
    HAM: "Hammercurl",
    ROW: "Rudern LH",
    CHIN: "Klimmzug Untergriff",
    DOWN: "Latzug",
    DEAD: "Kreuzheben",
    "leg press": "Beinpresse",
}
SOUTH_HEAD = ["Datum", "Name", "Übung", "Gerät", "Seite", "Last", "Einheit", "Sätze"]
SOUTH_HEAD += ["Wdh", "RPE", "Versagen", "Winkel", "Halten (s)", "Haltewinkel"]
SOUTH_HEAD += ["Schmerz", "Gewicht", "Bemerkung"]


def comma(value: float | None) -> str:
    """Return a number with a decimal comma, empty for none."""
    return "" if value is None else f"{value:g}".replace(".", ",")


def south_table(rng: random.Random, rows: list[dict[str, Any]]) -> list[list[str]]:
    """Lay sets out the way the southern coach keeps them, flaws included."""
    table = []
    for row in rows:
        pounds = row["pounds"]
        load = round(row["load_kg"] / KG_PER_LB) if pounds else row["load_kg"]
        rpe = None if row["rir"] is None else max(5, 10 - row["rir"])
        line = [
            row["day"].strftime("%d.%m.%Y"),
            row["code"],
            SOUTH_NAMES[row["setup"]],
            equipment_of(row["setup"]),
            {"left": "links", "right": "rechts", "": ""}[row["side"]],
            comma(load),
            "lb" if pounds else "kg",
            "1",
            comma(row["reps"]),
            comma(rpe),
            "ja" if row["failed"] else "",
            comma(row.get("failed_at")),
            comma(row.get("hold_s")),
            comma(row.get("angle")),
            comma(row.get("pain")),
            comma(row["mass_kg"]),
            row.get("note", "").replace(
                "inner elbow sore since Monday", "Ellbogen innen gereizt seit Montag"
            ),
        ]
        same = table and line[:7] + line[8:16] == table[-1][:7] + table[-1][8:16]
        if same:  # this coach counts equal sets instead of repeating them
            table[-1][7] = str(int(table[-1][7]) + 1)
        else:
            table.append(line)
    table[300][5] = "2250"  # 22,50 without its comma
    table[620][0] = "31.11.2025"
    table[750][8] = "-8"
    return table


OWN_NAMES = {SB: "bb curl", P45: "preacher", HAM: "hammers", CON: "conc curl"} | {
    ROW: "bb row",
    CHIN: "chins",
}


def own_table(rows: list[dict[str, Any]]) -> list[list[str]]:
    """One lifter's notebook: a line per exercise, in the trade's shorthand."""
    lines: dict[tuple[date, str], list[dict[str, Any]]] = {}
    for row in rows:
        lines.setdefault((row["day"], row["setup"]), []).append(row)
    table = []
    for (day, setup), sets in lines.items():
        pounds = round(sets[0]["load_kg"] / KG_PER_LB)
        reps = [str(row["reps"]) for row in sets]
        same = len(set(reps)) == 1
        what = (
            f"{len(reps)}x{reps[0]} @ {pounds}lb"
            if same
            else f"{pounds}lb x {', '.join(reps)}"
        )
        # One number for the whole line: what was left after its last set.
        left = sets[-1]["rir"] if same else None
        table.append(
            [day.strftime("%m/%d/%Y"), OWN_NAMES[setup], what]
            + ["" if left is None else str(left)]
        )
    return table


def body_table(rng: random.Random) -> list[list[str]]:
    """Body mass, stature, forearm length and arm girth, once a month."""
    table = []
    for lifter in LIFTERS:
        girth = 0.19 + 0.0018 * lifter.mass_kg + rng.gauss(0, 0.006)
        forearm = 0.146 * lifter.stature_m + rng.gauss(0, 0.004)
        for week in range(0, WEEKS, 4):
            if week not in lifter.weeks and len(lifter.weeks) < WEEKS:
                continue
            mass = lifter.mass_kg + 0.04 * week + rng.gauss(0, 0.4)
            arm = girth * (1 + 0.15 * lifter.level[week]) + rng.gauss(0, 0.002)
            table.append(
                [lifter.code, (FIRST_MONDAY + timedelta(weeks=week)).isoformat()]
                + [f"{mass:.1f}", f"{lifter.stature_m:.2f}"]
                + [f"{forearm:.3f}", f"{arm:.3f}"]
            )
    return table


BODY_HEAD = ["code", "measured", "mass_kg", "stature_m", "forearm_m", "arm_girth_m"]


def csv_text(head: list[str], rows: Iterable[list[str]], delimiter: str) -> str:
    """Return a table as delimited text."""
    out = io.StringIO()
    writer = csv.writer(out, delimiter=delimiter, lineterminator="\n")
    writer.writerow(head)
    writer.writerows(rows)
    return out.getvalue()


def workbook_bytes(rows: list[list[Any]]) -> bytes:
    """Return the northern coach's workbook, the same bytes every time."""
    book = Workbook()
    sheet = book.active
    sheet.title = "Winter block"
    sheet.append(["Boat club north, winter block (invented)"])
    sheet.append([])
    sheet.append(NORTH_HEAD)
    for row in rows:
        sheet.append(row)
    saved, steady = io.BytesIO(), io.BytesIO()
    book.save(saved)
    with zipfile.ZipFile(saved) as old, zipfile.ZipFile(steady, "w") as new:
        for name in old.namelist():
            text = re.sub(  # the library stamps the hour of saving
                rb"(<dcterms:(created|modified)[^>]*>)[^<]*",
                rb"\g<1>2026-03-23T00:00:00Z",
                old.read(name),
            )
            entry = zipfile.ZipInfo(name, (2026, 3, 23, 0, 0, 0))
            new.writestr(entry, text, zipfile.ZIP_DEFLATED)
    return steady.getvalue()


def truth_text() -> str:
    """Return what the logs were drawn from, as TOML."""
    lines = [
        "# What the invented logs beside this file were drawn from; written by",
        "# make_logs.py. No number here was measured on anybody.",
        "",
        f"seed = {SEED}",
        f'first_monday = "{FIRST_MONDAY}"',
        f"weeks = {WEEKS}",
        f"closed_weeks = {list(CLOSED_WEEKS)}",
        f"day_sd = {DAY_SD}  # log strength, shared by one lifter's exercises of a day",
        f"set_sd = {SET_SD}",
        f"walk_sd_per_sqrt_week = {WALK_SD}",
        f"ratio_sd = {RATIO_SD}  # between lifters, log scale",
        f"lean_starts_at = {LEAN_FROM}  # of the day's one-repetition load",
        f"reps_lost_per_earlier_set = {REPS_LOST_PER_SET}",
        'repetition_load = "w/s = 1.0278 - 0.0278 R (Brzycki 1993)"',
        "",
        "[ratios]  # per working arm, standing barbell curl = 1",
        *(f'"{setup}" = {ratio}' for setup, ratio in RATIO.items()),
        "",
        "[sticking_deg]",
        *(f'"{setup}" = {angle}' for setup, angle in STICKING_DEG.items()),
        "",
        "[holds]  # load held still ÷ one-repetition load of the variant, by angle",
        *(
            f'"{setup}" = {{ {", ".join(f"{a} = {r}" for a, r in table.items())} }}'
            for setup, table in HOLD.items()
        ),
    ]
    for lifter in LIFTERS:
        by_week = [round(true_kg(lifter, SB, week), 2) for week in range(WEEKS)]
        lines += [
            "",
            f"[lifters.{lifter.code}]",
            f"growth_frac_per_week = {lifter.growth}",
            f"stalls_at_week = {lifter.stalls_at}",
            f"left_right_ratio = {lifter.left_right}",
            f"strength_kg = {by_week}  # standing barbell curl, total on the bar",
        ]
    return "\n".join(lines) + "\n"


def contents() -> dict[str, bytes]:
    """Return every file this script writes, by name."""
    rng = random.Random(SEED)
    rows: dict[str, list[dict[str, Any]]] = {}
    for lifter in LIFTERS:
        live(rng, lifter)
        rows[lifter.code] = list(block(rng, lifter))
    north = [row for code in list(rows)[:7] for row in rows[code]]
    south = [row for code in list(rows)[7:13] for row in rows[code]]
    north.sort(key=lambda row: row["day"])
    return {
        "coach_north.xlsx": workbook_bytes(north_table(rng, north)),
        "coach_south.csv": csv_text(SOUTH_HEAD, south_table(rng, south), ";").encode(
            "cp1252"
        ),
        "own_shorthand.csv": csv_text(
            ["When", "What", "Sets", "Left in the tank"], own_table(rows["R14"]), ","
        ).encode(),
        "bodies.csv": csv_text(BODY_HEAD, body_table(rng), ",").encode(),
        "truth.toml": truth_text().encode(),
    }


def main() -> None:
    """Write the files beside this script."""
    for name, content in contents().items():
        (FOLDER / name).write_bytes(content)
        sys.stdout.write(f"{name}: {len(content):,} bytes\n")


if __name__ == "__main__":
    main()
