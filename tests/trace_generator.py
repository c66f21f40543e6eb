"""Rep traces of known truth, sharing no idea with the library that reads them.

A lift is drawn by its speed: rest, first peak, slowest point, second peak, rest, joined
by half cosines whose durations are chosen so that the slowest point falls at a wanted
position. Sensors are then made as poor as real ones.
"""

from dataclasses import dataclass, field

import numpy as np
import pandas as pd

FINE_S = 0.001
FOREARM_M = 0.345


@dataclass
class Lift:
    """One lift: what was put in."""

    begin_s: float
    end_s: float
    low_s: float  # NaN where the speed has no minimum
    low: float  # position of the slowest point, unit of the signal
    depth_frac: float


@dataclass
class Made:
    """A set as a sensor saw it, and what was put in."""

    trace: pd.DataFrame
    lifts: list[Lift]
    clean_s: np.ndarray
    clean: np.ndarray
    holes: list[tuple[float, float]]
    about: dict = field(default_factory=dict)


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


def one_set(seed, *, dips=True, signal="elbow_deg", noise=None, depth=None, **fixed):
    rng = np.random.default_rng(seed)

    def draw(name, value):
        return fixed.get(name, value)

    bottom = draw("bottom", rng.uniform(5, 40))
    top = draw("top", rng.uniform(120, 140))
    rate = draw("rate", float(rng.choice([30, 50, 60, 100, 120, 200])))
    reps = draw("reps", int(rng.integers(1, 13)))
    style = draw("style", rng.choice(["pauses", "touch", "mixed"]))
    if signal == "height_m":
        bottom = 0.0

    def place(part):
        if signal == "elbow_deg":
            return bottom + (top - bottom) * part
        full = FOREARM_M * (1 - np.cos(np.deg2rad(top)))
        return 0.7 + full * part

    clock, position, lifts = [], [], []
    now, at = 0.0, 0.0

    def add(t, part):
        nonlocal now
        clock.append(now + t)
        position.append(part)
        now += t[-1] + FINE_S

    def rest(part, seconds):
        t = np.arange(0, max(seconds, FINE_S), FINE_S)
        add(
            t,
            np.full(len(t), part) + 0.01 * np.sin(2 * t) * np.sin(np.pi * t / t[-1])
            if seconds > 0.5
            else np.full(len(t), part),
        )

    start = draw(
        "start", rng.choice(["rest", "falling", "rising"], p=[0.7, 0.15, 0.15])
    )
    if start == "falling":
        t, x = lowering(rng, rng.uniform(0.5, 3))
        from_here = int(len(t) * rng.uniform(0.1, 0.8))
        add(t[from_here:] - t[from_here], x[from_here:])
    elif start == "rest":
        rest(0.0, rng.uniform(0.0, 2))
    for number in range(reps):
        last = number == reps - 1
        goal = 1.0
        if rng.random() < draw("partial", 0.12):
            goal = rng.uniform(0.4, 0.75)
        seconds = draw("seconds", rng.uniform(0.8, 3.5))
        slow_last = last and reps > 2 and rng.random() < 0.4
        if slow_last:
            seconds = rng.uniform(4, 7)
        low_t = np.nan
        this_depth = np.nan
        if dips:
            this_depth = depth or rng.uniform(0.1, 0.9)
            if slow_last:
                this_depth = max(this_depth, rng.uniform(0.6, 0.95))
            t, x, low_t = stuck_lift(rng, seconds, this_depth, rng.uniform(0.25, 0.75))
        else:
            t, x = smooth_lift(rng, seconds)
        if dips and rng.random() < draw("hold", 0.05):
            # standing still on the way: the slowest point is there
            hold = rng.uniform(0.3, 2)
            t, x, low_t = stuck_lift(rng, seconds, 0.97, rng.uniform(0.3, 0.7))
            i = int(np.searchsorted(t, low_t))
            n = int(hold / FINE_S)
            x = np.concatenate([x[:i], np.full(n, x[i]), x[i:]])
            t = np.arange(len(x)) * FINE_S
            this_depth = 1.0
            low_t += hold / 2
        x = at + (goal - at) * x
        first = 0
        if number == 0 and start == "rising":
            first = int(np.searchsorted(x, rng.uniform(0.1, 0.5) * goal))
        stop = len(x)
        cut = last and rng.random() < draw("cut", 0.15)
        if cut:
            stop = int(np.searchsorted(x, rng.uniform(0.5, 0.9) * goal))
        seen = first < low_t / FINE_S < stop
        # both peaks must be in the record for a minimum between them to be known
        part = x[min(int(low_t / FINE_S), len(x) - 1)] if dips else np.nan
        if dips and (first or cut):
            v = np.gradient(x)
            i = int(low_t / FINE_S)
            peak1, peak2 = int(np.argmax(v[:i])), i + int(np.argmax(v[i:]))
            # the marks beside the peak must show it as a peak
            seen = first < 0.6 * peak1 and (
                stop > peak2 + 0.4 * (len(x) - peak2) or stop == len(x)
            )
            if not seen:
                this_depth = -1.0  # unknowable: neither claim nor silence is judged
        begin = now
        lifts.append(
            Lift(
                begin,
                begin + (stop - first) * FINE_S,
                begin + low_t - first * FINE_S if dips else np.nan,
                float(place(part)),
                this_depth,
            )
        )
        add(t[first:stop] - t[first], x[first:stop])
        if cut:
            break
        touch = style == "touch" or (style == "mixed" and rng.random() < 0.5)
        rest(goal, 0.0 if touch else rng.uniform(0, 3))
        if last and rng.random() < 0.3:
            break
        low = rng.uniform(0, 0.15) if rng.random() < 0.3 else 0.0
        t, d = lowering(rng, rng.uniform(0.5, 4))
        add(t, low + (goal - low) * d)
        at = low
        rest(low, 0.0 if touch else rng.uniform(0, 3))
    fine_s, fine = np.concatenate(clock), np.concatenate(position)
    clean = np.array(place(fine))
    drift = draw("drift", rng.choice([0.0, 0.0, 0.0, 1.0]))
    span = clean.max() - clean.min()
    slope = drift * rng.uniform(-0.12, 0.12) * span / max(fine_s[-1], 1)
    clean = clean + slope * fine_s
    for lift in lifts:
        if np.isfinite(lift.low_s):
            lift.low += slope * lift.low_s

    # the sensor
    t = np.arange(0, fine_s[-1], 1 / rate)
    timing = draw("timing", rng.choice(["even", "even", "jitter", "thin"]))
    if timing == "jitter":
        t = t + rng.uniform(-0.4, 0.4, len(t)) / rate
        t = np.sort(np.clip(t, 0, None))
    elif timing == "thin":
        t = t[rng.random(len(t)) > 0.2]
    t = np.unique(np.round(t, 6))
    value = np.interp(t, fine_s, clean)
    unit = (0.2, 2.0) if signal == "elbow_deg" else (0.001, 0.005)
    noise = rng.uniform(*unit) if noise is None else noise
    value = value + noise * rng.standard_normal(len(value))
    quantum = draw("quantum", rng.choice([0, 0, 1]))
    if quantum:
        step = 1.0 if signal == "elbow_deg" else 0.005
        value = np.round(value / step) * step
    holes = []
    keep = np.ones(len(t), bool)
    for _ in range(draw("holes", int(rng.choice([0, 0, 1, 2, 3])))):
        length = rng.uniform(0.1, 2.0)
        begin = rng.uniform(0, max(t[-1] - length, 0.1))
        inside = (t >= begin) & (t <= begin + length)
        trial = keep & ~inside
        if trial.sum() < 30 or not countable(t, t[trial], fine_s, clean, len(lifts)):
            continue
        holes.append((begin, begin + length))
        if rng.random() < 0.5:
            keep = trial
        else:
            value[inside] = np.nan
            seen_ok = keep & np.isfinite(value)
            if not countable(t, t[seen_ok], fine_s, clean, len(lifts)):
                value[inside] = np.interp(t[inside], fine_s, clean)
                holes.pop()
    trace = pd.DataFrame(
        {
            "lifter": "Z1",
            "performed_on": pd.Timestamp("2026-03-02"),
            "exercise": "standing_barbell_curl",
            "set": 1,
            "time_s": t + draw("offset", 0.0),
            signal: value,
        }
    )[keep].reset_index(drop=True)
    about = dict(
        bottom=bottom,
        top=top,
        rate=rate,
        noise=noise,
        quantum=quantum,
        timing=timing,
        style=str(style),
        start=str(start),
        drift=drift,
    )
    return Made(trace, lifts, fine_s, clean, holes, about)


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
