"""What pages ask of advice and reports: next loads, clients, research tables."""

import io
import tempfile
import zipfile
from pathlib import Path

import pandas as pd

from analytics import advice, reports
from analytics import store as stored
from analytics.catalogue import load_catalogue
from app.results import StrengthFit, fit_key
from app.state import Choice, kept, label, read, store


def setup_titles(fit: StrengthFit) -> dict[str, str]:
    """Return logged setups, then variants never trained, by their titles."""
    known = load_catalogue().variants.values()
    untrained = [v.variant for v in known if v.modelled and v.movement == fit.movement]
    return {name: label(name) for name in [*fit.setups["setup"], *untrained]}


def next_load(
    fit: StrengthFit,
    choice: Choice,
    setup: str,
    *,
    reps: int,
    rir: float,
    step_kg: float,
) -> pd.DataFrame:
    """Return the load for the next set, with its basis and caution."""
    return advice.next_load(
        fit,
        choice.lifter,
        setup,
        sets=read(stored.sets, lifter=choice.lifter),
        reps=reps,
        rir=rir,
        step_kg=step_kg,
    )


def load_sentence(row: pd.Series) -> str:
    """Say the load with its interval, or that there is none."""
    if pd.isna(row["load_kg"]):
        return "No load is suggested"
    return (
        f"{row['load_kg']:g} kg for {row['reps']:g} repetitions, {row['rir']:g} in "
        f"reserve (90 % interval {row['low_kg']:.1f} to {row['high_kg']:.1f})"
    )


def ranking(choice: Choice, fit: StrengthFit, goal: str) -> pd.DataFrame:
    """Return variants for one goal, the best first, with reasons in words."""

    def make() -> pd.DataFrame:
        return advice.rank_variants(goal, fit=fit, lifter=choice.lifter)

    return kept("ranking", (*fit_key(choice), goal), make)


def client_rows(choice: Choice, fit: StrengthFit) -> pd.DataFrame:
    """Return one row per lifter, those most likely to have stalled first."""

    def make() -> pd.DataFrame:
        rows = advice.clients(fit, read(stored.sets))
        return rows.sort_values("stall_probability", ascending=False)

    return kept("clients", fit_key(choice), make)


def clients_sentence(rows: pd.DataFrame) -> str:
    """Say who is likeliest to have stalled."""
    first = rows.iloc[0]
    return (
        f"{len(rows)} lifters; {first['lifter']} is the likeliest not to be gaining, "
        f"probability {first['stall_probability']:.2f}"
    )


def research_package(
    choice: Choice, smallest_cell: int
) -> tuple[bytes, dict[str, pd.DataFrame]]:
    """Return the data package as a ZIP, and its tables."""

    def make() -> tuple[bytes, dict[str, pd.DataFrame]]:
        content = io.BytesIO()
        with tempfile.TemporaryDirectory() as folder:
            reports.write_tables(
                store(),
                Path(folder),
                movement=choice.movement,
                smallest_cell=smallest_cell,
            )
            written = sorted(Path(folder).rglob("*.*"))
            with zipfile.ZipFile(content, "w", zipfile.ZIP_DEFLATED) as package:
                for path in written:
                    package.write(path, path.relative_to(folder))
            tables = {p.stem: pd.read_csv(p) for p in written if p.suffix == ".csv"}
        return content.getvalue(), tables

    return kept("research", (*fit_key(choice), smallest_cell), make)
