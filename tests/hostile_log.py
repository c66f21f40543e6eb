"""A log whose names and notes are pictures, links and markup of a canary."""

from pathlib import Path

from analytics import store as stored
from analytics.intake import take_in
from analytics.store import Store

COACH = "Z1"
CODES: list[str] = []


def hostile_store(folder: Path, canary: str) -> Path:
    """Write a store of lifters, exercises, stations and notes that ask for a canary."""
    CODES[:] = [f"![x]({canary}/lifter.png)", f"<img src='{canary}/code.png'>", COACH]
    own = f"![y]({canary}/exercise.png)"
    station = f"![e]({canary}/station.png)"
    note = f"<img src='{canary}/note.png'> ![n]({canary}/note2.png) {canary}/link"
    rows = [
        f'"{code}",2026-01-{day:02d},"{name}","{place}",{load + day},8,{rir},"{note}"'
        for code in [*CODES, *(f"L{n}" for n in range(7))]
        for day in range(5, 30, 4)
        for name, place, load in (
            ("barbell curl", "", 30),
            ("hammer curl", station, 14),
            (own, "", 50),
            ("quark", "", 20),
        )
        for rir in (1, 2)
    ]
    rows.append(f'"{CODES[0]}",{canary}/date.png,curl,,20,8,2,')
    log = folder / "log.csv"
    head = "lifter,date,exercise,equipment,load_kg,reps,rir,note"
    log.write_text("\n".join([head, *rows]) + "\n")
    store = Store(folder / "hostile.duckdb")
    take_in(store, log, dates="iso")
    stored.teach_name(store, own, "own_lift", "own")
    return store.path
