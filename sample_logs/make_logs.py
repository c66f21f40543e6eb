"""Write the invented winter block of a rowing club, and the truth behind it.

Run ``python sample_logs/make_logs.py`` to renew the files beside this one.
Nobody in them exists. Neither this script nor :mod:`winter_block`, which draws
the sets, shares code with the library, so the library can be held against them.
"""

import csv
import io
import random
import re
import sys
import zipfile
from collections.abc import Iterable
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import sundays
import winter_block as truth
from openpyxl import Workbook
from winter_block import (
    CHIN,
    CON,
    DEAD,
    DOWN,
    FIRST_MONDAY,
    HAM,
    INC,
    KG_PER_LB,
    LC1,
    LC2,
    LIFTERS,
    NL,
    OA,
    P45,
    P45C,
    P60,
    ROW,
    SB,
    SD,
    WEEKS,
    equipment_of,
    true_kg,
    winter,
)

FOLDER = Path(__file__).parent

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
    "Cheat",
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
            [
                *(row["code"], row["day"], name, equipment_of(row["setup"]) or None),
                *(row["side"] or None, row["load_kg"], row["reps"], row["rir"]),
                *("yes" if row["failed"] else None, row.get("failed_at"), start, stop),
                *(row.get("stance"), lean, "yes" if row.get("cheat") else None),
                *(row.get("hold_s"), row.get("angle"), row.get("pain")),
                *(row["mass_kg"], row.get("note")),
            ]
        )
    week = [line for line in table if line[0] == "R05" and week_of(line[1]) == 15]
    table += week  # pasted twice
    table[400][5] *= 100  # a slip of the decimal point
    table[401][6] = "eight"
    twice = [line for line in table if line[2] == NORTH_NAMES[SD]][30]
    twice[5] *= 2  # both dumbbells counted
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
            [
                *(day.strftime("%m/%d/%Y"), OWN_NAMES[setup], what),
                "" if left is None else str(left),
            ]
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
                [
                    *(lifter.code, (FIRST_MONDAY + timedelta(weeks=week)).isoformat()),
                    *(f"{mass:.1f}", f"{lifter.stature_m:.2f}"),
                    *(f"{forearm:.3f}", f"{arm:.3f}"),
                ]
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
        f"seed = {truth.SEED}",
        f'first_monday = "{FIRST_MONDAY}"',
        f"weeks = {WEEKS}",
        f"closed_weeks = {list(truth.CLOSED_WEEKS)}",
        f"day_sd = {truth.DAY_SD}  # log strength, one lifter, one day",
        f"set_sd = {truth.SET_SD}",
        f"walk_sd_per_sqrt_week = {truth.WALK_SD}",
        f"ratio_sd = {truth.RATIO_SD}  # between lifters, log scale",
        f"lean_starts_at = {truth.LEAN_FROM}  # of the day's one-repetition load",
        f"reps_lost_per_earlier_set = {truth.REPS_LOST_PER_SET}",
        'repetition_load = "NSCA training-load table, straight lines between"',
        "",
        "# Invented, near what a length-strength curve with a peak makes of each",
        "# posture, so that such a curve is true of these lifters. Per working arm,",
        "# standing barbell curl = 1. Cable stack 2 has the stiffer pulley.",
        "[ratios]",
        *(f'"{setup}" = {ratio}' for setup, ratio in truth.RATIO.items()),
        "",
        "[sticking_deg]",
        *(f'"{setup}" = {angle}' for setup, angle in truth.STICKING_DEG.items()),
        "",
        "[holds]  # load held still ÷ one-repetition load of the variant, by angle",
        *(
            f'"{setup}" = {{ {", ".join(f"{a} = {r}" for a, r in table.items())} }}'
            for setup, table in truth.HOLD.items()
        ),
        *sundays.truth_lines(),
    ]
    for lifter in LIFTERS:
        by_week = [round(true_kg(lifter, SB, week), 2) for week in range(WEEKS)]
        lines += [
            "",
            f"[lifters.{lifter.code}]",
            f"growth_frac_per_week = {lifter.growth}",
            f"stalls_at_week = {lifter.stalls_at}",
            f"growth_after_stall_frac_per_week = {lifter.slips}",
            f"left_right_ratio = {lifter.left_right}",
            f"strength_kg = {by_week}  # standing barbell curl, total on the bar",
        ]
    return "\n".join(lines) + "\n"


def contents() -> dict[str, bytes]:
    """Return every file this script writes, by name."""
    rng = random.Random(truth.SEED)
    rows = winter(rng)
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
        "club_sundays.csv": csv_text(sundays.HEAD, sundays.table(), ";").encode(),
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
