"""Simulated tables into the evidence, each with what it was computed from."""

import hashlib
import json
import tomllib
from importlib.resources import files
from pathlib import Path

import pandas as pd

from analytics.outgoing import frame_csv

CATALOGUE = Path(str(files("analytics.catalogue"))) / "data"
EVIDENCE = Path(str(files("analytics.evidence"))) / "data"
WORDS = ("exercise_names.toml", "sources.toml")  # names and citations move no number


def catalogue_hash(folder: Path = CATALOGUE) -> str:
    """Fingerprint of the values in a catalogue's data files.

    Parameters
    ----------
    folder : Path
        Its data.

    Returns
    -------
    fingerprint : str
        The same after a comment or a file's name has changed, another after a value.
    """
    values = sorted(
        json.dumps(tomllib.loads(path.read_text(encoding="utf-8")), sort_keys=True)
        for path in folder.rglob("*.toml")
        if path.name not in WORDS
    )
    return hashlib.sha256("\n".join(values).encode()).hexdigest()[:16]


def ship(table: pd.DataFrame, name: str, settings: str) -> None:
    """Write a simulated table where the evidence reads it.

    Parameters
    ----------
    table : DataFrame
        Result of a simulation.
    name : str
        Its file.
    settings : str
        Seeds and sizes, to make it again.
    """
    head = (
        f"# {settings}; catalogue {catalogue_hash()}; "
        "invented logs, not evidence about anybody\n"
    )
    text = head + frame_csv(table)
    (EVIDENCE / name).write_text(text, encoding="utf-8", newline="\n")
