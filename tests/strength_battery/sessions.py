"""A simulated lifter trains: loads she can put on, repetitions that happen."""

import math

import numpy as np

from .people import SET_REPS_SD, TAIL_DF, Person
from .schemes import SCHEMES, Slot

CARRIED_OVER = 0.3  # of tiredness, to the second exercise of a day
MOST_CALLED = 8  # a set easier than that is left without a call
CLIMB = (8, 12)  # repetitions of double progression, then more load


class Trainee:
    """One person following one plan; ``train`` appends rows of sets."""

    def __init__(self, person: Person, settings: dict, rng, rows: list):
        self.person, self.settings, self.rng, self.rows = person, settings, rng, rows
        self.loads: dict[tuple[str, str], float] = {}  # working loads
        self.climb: dict[str, int] = {}
        self.fresh = 1.0
        shift = settings["call_shift"]
        self.call_shift = int(rng.choice([-shift, shift])) if shift else 0

    def train(self, day: int, date, variants, week: int, day_of_week: int) -> None:
        luck = self.rng.standard_t(TAIL_DF) * math.sqrt(1 - 2 / TAIL_DF)  # of SD 1
        form, self.fresh = luck * self.person.day_sd, 1.0
        for variant in variants:
            scheme = SCHEMES[self.settings["schemes"][variant]][0]
            done: dict[str, list] = {}
            for slot in scheme(week, day_of_week):
                outcome = self._set(slot, variant, day, form, date, week)
                if outcome:
                    done.setdefault(slot.key, []).append((slot, *outcome))
            if not self._deload(week):
                for key, outcomes in done.items():
                    self._adapt(variant, key, outcomes, week)
            self.fresh = 1 - CARRIED_OVER * (1 - self.fresh)

    def after_layoff(self) -> None:
        for key in self.loads:
            self.loads[key] *= 0.88

    def _deload(self, week: int) -> bool:
        return self.settings["deloads"] and week % 4 == 3

    def _capacity(self, load: float, variant: str, day: int, form: float) -> float:
        person = self.person
        level = person.log_max[day] + person.offsets[variant] + form
        reps = person.relations[variant].reps_at(math.log(load) - level)
        if reps < 1:
            return 0.0
        return reps * self.fresh + self.rng.normal(0, SET_REPS_SD)

    def _first_load(self, slot: Slot, variant: str, day: int) -> float:
        """What she believes she can use: near the truth, like anyone's start."""
        left = 0 if slot.kind in ("failure", "climbing") else self.person.target_left
        reps = 1 if slot.key == "max" else slot.reps + left
        believed = self.person.strength_kg(variant, day, reps)
        factor = 0.9 if slot.key == "max" else 1 / slot.share
        return float(believed * factor * np.exp(self.rng.normal(-0.03, 0.04)))

    def _load(self, slot: Slot, variant: str, day: int, form: float, week) -> float:
        if slot.kind == "single":
            today = self.person.strength_kg(variant, day, 1) * math.exp(form)
            return self._plates(today * self.rng.uniform(0.93, 1.0), down=True)
        key = (variant, slot.key)
        if key not in self.loads:
            self.loads[key] = self._first_load(slot, variant, day)
        lighter = 0.85 if self._deload(week) else 1.0
        return self._plates(self.loads[key] * slot.share * lighter)

    def _plates(self, load: float, down: bool = False) -> float:
        step = self.settings["step_kg"]
        if not step:
            return round(load, 2)
        return max(step, (math.floor if down else round)(load / step) * step)

    def _set(self, slot: Slot, variant: str, day: int, form: float, date, week):
        load = self._load(slot, variant, day, form, week)
        could = self._capacity(load, variant, day, form)
        for _ in range(6):  # a load that does not move is put down again, unwritten
            if self.person.count(could) >= 1:
                break
            load = self._plates(load * 0.93 - 0.5 * self.settings["step_kg"])
            could = self._capacity(load, variant, day, form)
        possible = self.person.count(could)
        if possible < 1:
            return None
        plan = self._planned(slot, variant, possible)
        reps, failed = min(plan, possible), possible < plan
        left = possible - reps
        # most is lost after the first hard set, less the further from failure
        cost = (1 - self.person.kept) * math.exp(-left / 3)
        self.fresh *= 1 - cost * (1.0 if self.fresh > 0.97 else 0.4)
        called = 0 if failed else self._call(left, could)
        self._write(date, variant, load, reps, called, failed)
        return load, reps, called, failed

    def _planned(self, slot: Slot, variant: str, possible: int) -> int:
        if slot.kind == "failure":
            return possible + 1
        if slot.kind == "plus":
            return max(slot.reps, possible - int(self.rng.integers(0, 2)))
        if slot.kind == "climbing":
            return self.climb.setdefault(variant, slot.reps)
        return slot.reps

    def _call(self, left: int, could: float) -> int:
        """Reserve as called: more is left unsaid in long sets and far from failure.

        Growth with distance and with repetitions beyond 12: Zourdos 2021, Halperin 2022
        (about half of theirs, as other studies find none).
        """
        unsaid = self.person.call_bias * min(1.0, (left + 1) / 3) + 0.1 * left
        unsaid += 0.25 * max(could - 12, 0)
        spread = self.person.call_sd * (0.5 + 0.2 * left)
        called = left - unsaid + self.rng.normal(0, spread) + self.call_shift
        return max(0, round(called))

    def _write(self, date, variant, load, reps, called, failed) -> None:
        marked = self.rng.random() < self.settings["marked"] and called <= MOST_CALLED
        self.rows.append(
            (
                self.person.code,
                date,
                variant,
                load,
                reps,
                float(called) if marked else math.nan,
                failed and self.settings["marks_failures"],
            )
        )

    def _adapt(self, variant: str, key: str, outcomes: list, week: int) -> None:
        """Next week's load from this week's result, as people do."""
        if not self.settings["adapts"] or key == "single":
            return
        load = self.loads[variant, key]
        rise = self.settings["step_kg"] or 0.02 * load
        slot, _, reps, called, _ = outcomes[-1]
        if slot.kind == "failure":
            spare = outcomes[0][2] - slot.reps
            change = 0 if abs(spare) <= 1 else round(spare / 4 + np.sign(spare) * 0.5)
        elif slot.kind == "climbing":
            change = self._climbed(variant, outcomes)
        elif key == "max":
            if week % 4 != 2:
                return
            change = 1 if reps > slot.reps else -2
        else:
            wanted = self.person.target_left + max(1, round(rise / load / 0.03))
            wanted = min(wanted, 5)  # easier than this and anyone adds load
            missed = outcomes[0][4] or sum(o[4] for o in outcomes) > 1
            spare = called - wanted
            change = -1 if missed else 0 if spare < 0 else 1 + min(spare // 2, 2)
        if change < 0 and rise > 0.1 * load and not outcomes[0][4]:
            return  # a whole plate less is too much for a near miss
        self.loads[variant, key] = max(load + change * rise, rise)

    def _climbed(self, variant: str, outcomes: list) -> int:
        """Double progression: repetitions first, then load."""
        plan = self.climb[variant]
        if any(failed for *_, failed in outcomes):
            if outcomes[0][4] and plan == CLIMB[0]:
                return -1
            self.climb[variant] = max(CLIMB[0], plan - int(outcomes[0][4]))
            return 0
        if plan < CLIMB[1]:
            self.climb[variant] = plan + 1
            return 0
        self.climb[variant] = CLIMB[0]
        return 1
