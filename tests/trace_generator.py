"""Rep traces of known truth, sharing no idea with the library that reads them.

A lift is drawn by its speed: rest, first peak, slowest point, second peak, rest, joined
by half cosines whose durations are chosen so that the slowest point falls at a wanted
position. Sensors are then made as poor as real ones.
"""

from dataclasses import dataclass

import numpy as np
import pandas as pd

FINE_S = 0.001
FOREARM_M = 0.345
UPPER_ARM_M = 0.186 * 1.75  # share of stature: Drillis and Contini 1966, from memory
# Elbow and upper arm from hanging: the standing curl of the catalogue, whose upper arm
# comes forward from 70 degrees on.
CURL_DEG = np.array([[0.0, 70.0, 130.0], [0.0, 0.0, 45.0]])


@dataclass
class Lift:
    """One lift: what was put in."""

    begin_s: float
    end_s: float
    low_s: float  # NaN where the speed has no minimum
    low: float  # position of the slowest point, unit of the signal
    depth_frac: float  # NaN also where the record cannot show the dip


@dataclass
class Made:
    """A set as a sensor saw it, and what was put in."""

    trace: pd.DataFrame
    lifts: list[Lift]
    about: dict[str, float]


def hand_height_m(elbow_deg):
    """Height of the hand over where it hangs, by the elbow of a standing curl."""
    arm_deg = np.interp(elbow_deg, *CURL_DEG)
    arm, forearm = np.deg2rad(arm_deg), np.deg2rad(arm_deg + elbow_deg)
    return UPPER_ARM_M * (1 - np.cos(arm)) + FOREARM_M * (1 - np.cos(forearm))


def by_speeds(speeds, areas):
    """Positions 0 to 1 along speed knots joined by half cosines; area per piece."""
    speeds, areas = np.asarray(speeds, float), np.asarray(areas, float)
    seconds = areas / ((speeds[1:] + speeds[:-1]) / 2)
    knots = np.concatenate([[0], np.cumsum(seconds)])
    t = np.arange(0, knots[-1], FINE_S)
    piece = np.clip(np.searchsorted(knots, t, side="right") - 1, 0, len(areas) - 1)
    phase = (t - knots[piece]) / seconds[piece]
    v = (
        speeds[piece]
        + (speeds[piece + 1] - speeds[piece]) * (1 - np.cos(np.pi * phase)) / 2
    )
    x = np.concatenate([[0], np.cumsum((v[1:] + v[:-1]) / 2) * FINE_S])
    return t, x / x[-1], knots


def stuck_lift(rng, seconds, depth, at):
    """Positions of a lift whose speed is least at the part `at` of its way."""
    slow = 1 - depth
    second = slow + depth * rng.uniform(0.6, 1.2)
    first_part = rng.uniform(0.3, 0.6) * at
    last_part = at + rng.uniform(0.35, 0.65) * (1 - at)
    areas = [first_part, at - first_part, last_part - at, 1 - last_part]
    _, _, knots = by_speeds([0, 1, slow, second, 0], areas)
    scale = knots[-1] / seconds
    t, x, knots = by_speeds(np.array([0, 1, slow, second, 0]) * scale, areas)
    return t, x, knots[2]


def smooth_lift(rng, seconds):
    """Positions of a lift whose speed rises once and falls once."""
    u = np.arange(0, 1, FINE_S / seconds)
    kind = rng.choice(["bell", "skew", "plateau", "creep", "shoulder", "jerk"])
    if kind == "bell":
        v = np.sin(np.pi * u)
    elif kind == "skew":
        a, b = rng.uniform(1, 3, 2)
        v = u**a * (1 - u) ** b
    elif kind == "plateau":
        edge = rng.uniform(0.1, 0.35)
        v = np.clip(np.minimum(u, 1 - u) / edge, 0, 1)
        v = (1 - np.cos(np.pi * v)) / 2
    elif kind == "creep":  # grinding: fast at first, ever slower, no second rise
        v = u**1.5 * np.exp(-rng.uniform(3, 6) * u) * (1 - u) ** 0.5
    elif kind == "shoulder":
        v = np.sin(np.pi * u) * (1 + rng.uniform(0.3, 0.6) * np.tanh(8 * (0.5 - u)))
    else:
        v = u**2 * (1 - u) ** 2
    x = np.concatenate([[0], np.cumsum((v[1:] + v[:-1]) / 2)])
    return u * seconds, x / x[-1]


def lowering(rng, seconds):
    u = np.arange(0, 1, FINE_S / seconds)
    bend = rng.uniform(0.7, 1.4)
    return u * seconds, 1 - (1 - np.cos(np.pi * u**bend)) / 2


class Course:
    """A movement put together piece by piece, as parts 0 to 1 of the range."""

    def __init__(self) -> None:
        self.pieces: list[np.ndarray] = []
        self.samples = 0

    @property
    def now_s(self) -> float:
        return self.samples * FINE_S

    def add(self, part: np.ndarray) -> None:
        self.pieces.append(part)
        self.samples += len(part)

    def rest(self, part: float, seconds: float) -> None:
        """Stay, with a fidget of 1 % if for long."""
        n = max(1, int(seconds / FINE_S))
        fidget = 0.01 * np.sin(np.linspace(0, 2 * seconds, n))
        ends = np.sin(np.linspace(0, np.pi, n))
        self.add(part + (fidget * ends if seconds > 0.5 else np.zeros(n)))


def one_lift(rng, *, dips, slow, goal):
    """Positions 0 to `goal` of a lift, when it is slowest, and how deep its dip is."""
    seconds = rng.uniform(4, 7) if slow else rng.uniform(0.8, 3.5)
    if not dips:
        return goal * smooth_lift(rng, seconds)[1], np.nan, np.nan
    depth = rng.uniform(0.6, 0.95) if slow else rng.uniform(0.1, 0.9)
    held = rng.random() < 0.05
    if held:
        depth = 0.97
    _, x, low_s = stuck_lift(rng, seconds, depth, rng.uniform(0.25, 0.75))
    if held:  # standing still on the way: the slowest point is there
        hold_s = rng.uniform(0.3, 2)
        i = int(low_s / FINE_S)
        x = np.concatenate([x[:i], np.full(int(hold_s / FINE_S), x[i]), x[i:]])
        depth, low_s = 1.0, low_s + hold_s / 2
    return goal * x, low_s, depth


def both_peaks_seen(x, low_s, first, stop):
    """Whether what was recorded of a lift shows the speed on both sides of its dip."""
    speed, i = np.gradient(x), int(low_s / FINE_S)
    peak1, peak2 = int(np.argmax(speed[:i])), i + int(np.argmax(speed[i:]))
    return first < 0.6 * peak1 and stop > peak2 + 0.4 * (len(x) - peak2)


def movement(rng, *, dips):
    """Course of a set and its lifts, positions as parts 0 to 1 of the range."""
    course, lifts, at = Course(), [], 0.0
    reps = int(rng.integers(1, 13))
    touching = rng.choice([0.0, 0.5, 1.0])
    start = rng.choice(["rest", "falling", "rising"], p=[0.7, 0.15, 0.15])
    if start == "falling":
        down = lowering(rng, rng.uniform(0.5, 3))[1]
        course.add(down[int(len(down) * rng.uniform(0.1, 0.8)) :])
    elif start == "rest":
        course.rest(0.0, rng.uniform(0.0, 2))
    for number in range(reps):
        last = number == reps - 1
        goal = rng.uniform(0.4, 0.75) if rng.random() < 0.12 else 1.0
        slow = last and reps > 2 and rng.random() < 0.4
        x, low_s, depth = one_lift(rng, dips=dips, slow=slow, goal=goal)
        x = at + (goal - at) * x / goal
        first, stop = 0, len(x)
        if number == 0 and start == "rising":
            first = int(np.searchsorted(x, rng.uniform(0.1, 0.5) * goal))
        cut = last and rng.random() < 0.15
        if cut:
            stop = int(np.searchsorted(x, rng.uniform(0.6, 0.9) * goal))
        if dips and (first or cut) and not both_peaks_seen(x, low_s, first, stop):
            depth = np.nan  # nobody can know: neither claim nor silence is judged
        begin_s = course.now_s
        low = x[min(int(low_s / FINE_S), len(x) - 1)] if dips else np.nan
        lifts.append(
            Lift(
                begin_s,
                begin_s + (stop - first) * FINE_S,
                begin_s + low_s - first * FINE_S,
                float(low),
                depth,
            )
        )
        course.add(x[first:stop])
        if cut:
            break
        touch = rng.random() < touching
        course.rest(goal, 0.0 if touch else rng.uniform(0, 3))
        if last and rng.random() < 0.3:
            break
        at = rng.uniform(0, 0.15) if rng.random() < 0.3 else 0.0
        down = lowering(rng, rng.uniform(0.5, 4))[1]
        course.add(at + (goal - at) * down)
        course.rest(at, 0.0 if touch else rng.uniform(0, 3))
    return np.concatenate(course.pieces), lifts


def times(rng, seconds):
    """Sampling times: even, shaken, or with a fifth of them missing."""
    rate = float(rng.choice([30, 50, 60, 100, 120, 200]))
    t = np.arange(0, seconds, 1 / rate)
    kind = rng.choice(["even", "even", "shaken", "thin"])
    if kind == "shaken":
        t = np.sort(np.clip(t + rng.uniform(-0.4, 0.4, len(t)) / rate, 0, None))
    elif kind == "thin":
        t = t[rng.random(len(t)) > 0.2]
    return np.unique(np.round(t, 6)), rate


def with_holes(rng, t, value, fine_s, clean, reps):
    """Lose up to three stretches of 0.1 to 2 s that leave the lifts countable."""
    keep = np.ones(len(t), bool)
    for _ in range(int(rng.choice([0, 0, 1, 2, 3]))):
        length_s = rng.uniform(0.1, 2.0)
        begin_s = rng.uniform(0, max(t[-1] - length_s, 0.1))
        inside = (t >= begin_s) & (t <= begin_s + length_s)
        seen = keep & ~inside & np.isfinite(value)
        if seen.sum() < 30 or not countable(t, t[seen], fine_s, clean, reps):
            continue
        if rng.random() < 0.5:
            keep &= ~inside
        else:
            value = np.where(inside, np.nan, value)
    return keep, value


def one_set(seed, *, signal, dips=True, drift=False):
    """One set as a poor sensor saw it, and what was put in."""
    rng = np.random.default_rng(seed)
    part, lifts = movement(rng, dips=dips)
    low, high = rng.uniform(5, 40), rng.uniform(120, 140)
    if signal == "height_m":  # the arm hangs straight at the bottom
        low, high = 0.7, 0.7 + hand_height_m(min(high, 130.0))
    fine_s = np.arange(len(part)) * FINE_S
    slope = drift * rng.uniform(-0.12, 0.12) * (high - low) / fine_s[-1]
    clean = low + (high - low) * part + slope * fine_s
    for lift in lifts:
        lift.low = low + (high - low) * lift.low + slope * lift.low_s
    t, rate = times(rng, fine_s[-1])
    step, least, most = (1.0, 0.2, 2.0)
    if signal == "height_m":
        step, least, most = (0.005, 0.001, 0.005)
    noise = rng.uniform(least, most)
    value = np.interp(t, fine_s, clean) + noise * rng.standard_normal(len(t))
    if rng.random() < 1 / 3:
        value = np.round(value / step) * step
    keep, value = with_holes(rng, t, value, fine_s, clean, len(lifts))
    trace = pd.DataFrame(
        {
            "lifter": "Z1",
            "performed_on": pd.Timestamp("2026-03-02"),
            "exercise": "standing_barbell_curl",
            "set": 1,
            "time_s": t,
            signal: value,
        }
    )[keep].reset_index(drop=True)
    return Made(trace, lifts, {"rate_hz": rate, "noise": noise})


def countable(all_t, seen_t, fine_s, clean, reps):
    """Whether the lifts are still there for anyone to count."""
    x = np.interp(all_t, seen_t, np.interp(seen_t, fine_s, clean))
    lo, hi = clean.min(), clean.max()
    wide = 0.33 * (hi - lo)
    count, rising, mark = 0, False, x[0]
    for v in x:
        if rising:
            mark = max(mark, v)
            if mark - v > wide:
                rising, mark = False, v
        else:
            mark = min(mark, v)
            if v - mark > wide:
                count, rising, mark = count + 1, True, v
    return count == reps
