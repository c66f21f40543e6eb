"""An invented club of three lifters, and the four people who share its store."""

from __future__ import annotations

from datetime import date, timedelta
from pathlib import Path

from analytics import store as stored
from analytics.intake import take_in
from analytics.store import Store

CODES = ("AA1", "BB2", "CC3")
PEOPLE = {
    "lifter": ("anna@club.test", ("AA1",)),
    "coach": ("kim@club.test", ("AA1", "BB2")),
    "researcher": ("ros@club.test", ()),
    "owner": ("oda@club.test", ()),
}
HEADER = "lifter,date,exercise,load_kg,reps,rir,note\n"
NAMES = ("standing barbell curl", "hammer curl")


def log_of(code: str) -> str:
    """Give eight weeks of two exercises, one name that waits and one rejected row."""
    base, rows = 20 + 7 * CODES.index(code), []
    for week in range(8):
        day = date(2024, 1, 8) + timedelta(weeks=week)
        for number, name in enumerate(NAMES):
            for reps, rir in ((8, 2), (5, 1)):
                load = base - 8 * number + week / 2 + (8 - reps)
                rows.append(f"{code},{day},{name},{load},{reps},{rir},of {code}")
    rows.append(f"{code},2024-03-11,wobble of {code},10,8,2,of {code}")
    rows.append(f"{code},2024-03-11,hammer curl,heavy {code},8,2,of {code}")
    return HEADER + "\n".join(rows) + "\n"


def trace_of(code: str) -> str:
    """Give one repetition from 20° to 120° in two seconds."""
    rows = [f"{code},2024-03-01,hammer curl,1,{k / 50},20" for k in range(25)]
    rows += [
        f"{code},2024-03-01,hammer curl,1,{0.5 + k / 50},{20 + k}" for k in range(101)
    ]
    rows += [f"{code},2024-03-01,hammer curl,1,{2.52 + k / 50},120" for k in range(25)]
    return "lifter,performed_on,exercise,set,time_s,elbow_deg\n" + "\n".join(rows)


def build(path: Path) -> Store:
    """Make the store: each log brought in by another person, intakes 1 to 3."""
    store = Store(path)
    for role, (address, lifters) in PEOPLE.items():
        stored.add_person(store, address, role, lifters)
    for role, code in zip(("lifter", "coach", "owner"), CODES, strict=True):
        asking = stored.asking_of(store, PEOPLE[role][0])
        log = path.with_name(f"log_{code}.csv")
        log.write_text(log_of(code), encoding="utf-8")
        take_in(store.asked_by(asking), log)
    return store
