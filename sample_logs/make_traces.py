"""Write invented rep traces: the forward simulation plus a poor sensor.

Run ``python sample_logs/make_traces.py`` to renew the files in ``traces``. Nobody was
measured. Each set is simulated rep by rep with the load growing against what fatigue
leaves, then lowered, paused, sampled, and given noise and drop-outs. What the
simulation knows is written to ``traces/truth.toml``.
"""

from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pandas as pd

from analytics.mechanics import dynamic_rep, make_body

FOLDER = Path(__file__).parent / "traces"
SEED = 20260209
RATE_HZ = 50
STOP_DEG = 12.0  # the lifter slows the bar over the last part
LOWERING_S = 1.8


@dataclass(frozen=True)
class Set:
    """One invented set."""

    file: str
    lifter: str
    performed_on: str
    variant: str
    number: int
    load_ratios: tuple[float, ...]
    noise_deg: float = 0.2
    dropouts: int = 0
    cheat_from_rep: int = 99


SETS = (
    Set("barbell_angle.csv", "R03", "2026-02-09", "standing_barbell_curl", 1,
        (0.86, 0.90, 0.94, 0.97, 1.0), dropouts=3),
    Set("barbell_angle.csv", "R03", "2026-02-09", "standing_barbell_curl", 2,
        (0.92, 0.96, 0.99, 1.02), dropouts=2),
    Set("trunk_and_angle.csv", "R07", "2026-02-11", "no_lockout_curl", 1,
        (0.84, 0.88, 0.92, 0.95, 0.97), cheat_from_rep=4),
    Set("pad_height.csv", "R09", "2026-02-13", "preacher_curl_45", 1,
        (0.75, 0.80, 0.85, 0.90, 0.95)),
)  # fmt: skip


def lift(variant: str, ratio: float) -> tuple[np.ndarray, np.ndarray, float]:
    """Time and angle of one lift that ends at rest, and its slowest angle."""
    rep = dynamic_rep(variant, load_ratio=ratio)
    assert rep.completed, (variant, ratio)
    time, elbow, speed = (
        rep.motion[name].to_numpy()
        for name in ("time_s", "elbow_deg", "velocity_deg_per_s")
    )
    at = int(np.searchsorted(elbow, elbow[-1] - STOP_DEG))
    left = elbow[-1] - elbow[at]
    slowing_s = 2 * left / speed[at]
    t = np.linspace(0, slowing_s, 20)[1:]
    braked = elbow[at] + speed[at] * t - speed[at] * t**2 / (2 * slowing_s)
    low = rep.low_deg if rep.low_deg < elbow[at] else np.nan
    return np.append(time[:at], time[at] + t), np.append(elbow[:at], braked), low


def one_set(plan: Set, rng: np.random.Generator) -> tuple[pd.DataFrame, list[dict]]:
    """Samples of a set and the truth about its reps."""
    time, elbow, trunk = [0.0], [], []
    truth, clock = [], 0.8
    for number, ratio in enumerate(plan.load_ratios, 1):
        up_s, up_deg, low = lift(plan.variant, ratio)
        if not elbow:
            elbow.append(up_deg[0])
            trunk.append(2.0)
        top, bottom = up_deg[-1], up_deg[0]
        truth.append(
            {
                "file": plan.file,
                "set": plan.number,
                "rep": number,
                "start_s": round(clock, 3),
                "end_s": round(clock + up_s[-1], 3),
                "sticking_deg": round(float(low), 2),
                "cheat": number >= plan.cheat_from_rep,
            }
        )
        down = np.linspace(0, 1, 40)[1:]
        hold_s, rest_s = rng.uniform(0.1, 0.5), rng.uniform(0.2, 1.0)
        time += [*(clock + up_s), *(clock + up_s[-1] + hold_s + LOWERING_S * down)]
        elbow += [*up_deg, *(top + (bottom - top) * (1 - np.cos(np.pi * down)) / 2)]
        swing = 16.0 if number >= plan.cheat_from_rep else 2.0
        back = np.clip(up_s / 0.5, 0, 1)
        trunk += [*(2 - swing * np.sin(np.pi * back / 2)), *(2 - swing * (1 - down))]
        clock += up_s[-1] + hold_s + LOWERING_S + rest_s
    grid = np.arange(0, clock, 1 / RATE_HZ)
    angle = np.interp(grid, time, elbow)
    samples = pd.DataFrame(
        {
            "lifter": plan.lifter,
            "performed_on": plan.performed_on,
            "exercise": plan.variant,
            "set": plan.number,
            "time_s": grid.round(3),
        }
    )
    if plan.file == "pad_height.csv":
        bar = -make_body().grip_m * np.cos(np.deg2rad(45 + angle))
        noise = rng.normal(0, 0.002, len(grid))
        samples["height_m"] = (1.0 + bar + noise).round(4)
    else:
        noisy = angle + rng.normal(0, plan.noise_deg, len(grid))
        samples["elbow_deg"] = noisy.round(1)
    if plan.cheat_from_rep < 99:
        lean = np.interp(grid, time, trunk) + rng.normal(0, 0.3, len(grid))
        samples["trunk_deg"] = lean.round(1)
    for _ in range(plan.dropouts):
        first = rng.integers(0, len(grid) - 20)
        samples.loc[first : first + rng.integers(3, 10), "elbow_deg"] = np.nan
    return samples, truth


def main() -> None:
    """Write every file."""
    rng = np.random.default_rng(SEED)
    FOLDER.mkdir(exist_ok=True)
    parts: dict[str, list[pd.DataFrame]] = {}
    truth: list[dict] = []
    for plan in SETS:
        samples, known = one_set(plan, rng)
        parts.setdefault(plan.file, []).append(samples)
        truth += known
    for name, frames in parts.items():
        frame = pd.concat(frames)
        dialect = {"sep": ";", "decimal": ","} if name.startswith("barbell") else {}
        frame.to_csv(FOLDER / name, index=False, lineterminator="\n", **dialect)
    lines = [
        "# Written by make_traces.py: what the simulation knows of each rep.",
        "# sticking_deg is nan where the velocity has no minimum.",
        "",
    ]
    for rep in truth:
        lines.append("[[rep]]")
        for name, value in rep.items():
            text = f'"{value}"' if isinstance(value, str) else str(value).lower()
            lines.append(f"{name} = {text}")
        lines.append("")
    (FOLDER / "truth.toml").write_text("\n".join(lines), encoding="utf-8")


if __name__ == "__main__":
    main()
