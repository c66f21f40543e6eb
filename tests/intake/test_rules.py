"""Numbers that decide about rows, from both sides."""

import pytest

from analytics.store import sets
from analytics.store.fields import FIELDS

HEADER = "lifter,date,exercise,load_kg,reps\n"


@pytest.mark.parametrize(
    ("apart", "equal", "said"),
    [(21, 5, True), (20, 5, False), (21, 4, False), (40, 30, True)],
)
def test_equal_rows_far_apart_are_said_to_be_pasted(bring, apart, equal, said):
    own = [f"R01,2025-01-06,barbell curl,{20 + n},8" for n in range(equal)]
    between = [f"R01,2025-01-07,barbell curl,{60 + n},8" for n in range(apart - equal)]
    result = bring(HEADER + "\n".join([*own, *between, *own]), trial=True)
    # the header is row 1, and the same rows stand again at the end
    rows = f"{equal} sets in rows {apart + 2} to {apart + 1 + equal} equal sets"
    assert any(note.startswith(rows) for note in result.notes) == said


# The best of up to six neighbouring days, on one rough scale of one repetition: load
# times 1 + repetitions / 30, twelve at most.
@pytest.mark.parametrize(
    ("days", "load", "reps", "flagged"),
    [
        (2, 25.9, 8, False),
        (2, 26.1, 8, True),
        (1, 80.0, 8, False),  # one other day tells nothing
        (6, 26.1, 8, True),
        (2, 23.4, 12, False),
        (2, 23.6, 12, True),
        (2, 23.4, 30, False),  # no more than twelve count
    ],
)
def test_a_load_a_third_above_neighbouring_days_is_flagged(
    bring, store, days, load, reps, flagged
):
    usual = [f"R,2025-01-{6 + n:02d},barbell curl,20,8\n" for n in range(days)]
    bring(HEADER + "".join(usual) + f"R,2025-01-20,barbell curl,{load},{reps}\n")
    flags = sets(store)["flag"]
    assert (flags.iloc[-1] != "") == flagged
    assert (flags.iloc[:-1] == "").all()


def test_a_slip_is_held_against_three_days_on_each_side(bring, store):
    loads = [30, 20, 20, 20, 30, 20, 20, 20, 20]
    rows = [
        f"R,2025-01-{6 + n:02d},barbell curl,{kg},8\n" for n, kg in enumerate(loads)
    ]
    bring(HEADER + "".join(rows))
    flags = (sets(store)["flag"] != "").tolist()
    assert flags == [True, *[False] * 3, True, *[False] * 4]


TEXT = {"reps": "reps", "rir": "rir", "pain": "pain", "hold_s": "hold (s)"}


@pytest.mark.parametrize("field", ["load", *TEXT])
def test_a_number_is_accepted_up_to_the_stated_ends(bring, field):
    low, high = FIELDS[field].limits
    low = max(low, 0.0) if field == "load" else low
    head = HEADER if field in ("load", "reps") else f"{HEADER.strip()},{TEXT[field]}\n"

    def row(value: float) -> str:
        cells = {"load": "20", "reps": "8", field: f"{value:g}"}
        more = "" if field in ("load", "reps") else f",{cells[field]}"
        return f"R,2025-01-06,barbell curl,{cells['load']},{cells['reps']}{more}\n"

    inside = bring(head + row(low) + row(high), trial=True)
    assert (inside.sets_added, inside.rejected) == (2, 0)
    step = 1.0 if high >= 1 else 0.01
    outside = [high + step, *([low - 0.05] if low > 0 else [-1.0])]
    result = bring(head + "".join(map(row, outside)), trial=True)
    # Of an effort the set is kept, and only the effort is not.
    assert (result.rejected, len(result.efforts_not_read)) == (
        (0, 2) if field == "rir" else (2, 0)
    )
