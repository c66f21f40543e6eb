"""A data package of research tables as one file to take away."""

import io
import json
import tempfile
import zipfile
from collections.abc import Callable
from pathlib import Path

import pandas as pd

Package = tuple[bytes, dict[str, pd.DataFrame], str]


def packed(write: Callable[[Path], object]) -> Package:
    """Return what is written into a folder as a ZIP, its tables, how to cite it."""
    content = io.BytesIO()
    with tempfile.TemporaryDirectory() as folder:
        place = Path(folder) / "tables"
        write(place)
        written = sorted(place.iterdir())
        with zipfile.ZipFile(content, "w", zipfile.ZIP_DEFLATED) as archive:
            for path in written:
                archive.write(path, path.name)
        tables = {p.stem: pd.read_csv(p) for p in written if p.suffix == ".csv"}
        described = json.loads((place / "datapackage.json").read_text("utf-8"))
    return content.getvalue(), tables, described["citation"]
