"""What is planned for one exercise on one day: common practice of the trade."""

from dataclasses import dataclass


@dataclass(frozen=True)
class Slot:
    """One planned set.

    ``key`` names the working load it shares with like days, ``share`` is its part of
    it. ``kind``: planned (stop at ``reps``), plus (as many as she dares), failure,
    single, or climbing (double progression: the day's repetitions are her own).
    """

    key: str
    reps: int
    share: float = 1.0
    kind: str = "planned"


def _straight(sets: int, reps: int):
    return lambda week, day: [Slot("main", reps)] * sets


def _ascending(week, day):
    return [
        Slot("main", reps, share)
        for reps, share in ((12, 0.78), (10, 0.85), (8, 0.92), (6, 1.0))
    ]


def _top_and_back_off(week, day):
    return [Slot("main", 5)] + [Slot("main", 8, 0.85)] * 3


def _double_progression(week, day):
    return [Slot("main", 8, kind="climbing")] * 3


def _waves(week, day):
    """Three weeks rising, the last set open, and a light fourth."""
    shares, reps = (
        ((0.65, 0.75, 0.85), (5, 5, 5)),
        ((0.70, 0.80, 0.90), (3, 3, 3)),
        ((0.75, 0.85, 0.95), (5, 3, 1)),
        ((0.40, 0.50, 0.60), (5, 5, 5)),
    )[week % 4]
    last = "planned" if week % 4 == 3 else "plus"
    kinds = ("planned", "planned", last)
    return [Slot("max", r, s, k) for r, s, k in zip(reps, shares, kinds, strict=True)]


def _undulating(*reps: int):
    return lambda week, day: [Slot(f"of {reps[day % 2]}", reps[day % 2])] * 3


def _singles(week, day):
    single = [Slot("single", 1, kind="single")] if week % 3 == 2 and day == 0 else []
    return single + [Slot("main", 8)] * 3


def _to_failure(week, day):
    return [Slot("main", 10, kind="failure")] * 3


# scheme: (what is planned, repetitions trained)
SCHEMES = {
    "3x8": (_straight(3, 8), (8,)),
    "3x10": (_straight(3, 10), (10,)),
    "5x5": (_straight(5, 5), (5,)),
    "ascending": (_ascending, (6, 8, 10, 12)),
    "top_and_back_off": (_top_and_back_off, (5, 8)),
    "double_progression": (_double_progression, (8, 10, 12)),
    "waves": (_waves, (3, 5)),
    "undulating_5_10": (_undulating(5, 10), (5, 10)),
    "undulating_8_12": (_undulating(8, 12), (8, 12)),
    "singles": (_singles, (8,)),
    "to_failure": (_to_failure, (10,)),
}
