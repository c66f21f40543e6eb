"""Parquet as a table, refused by its declared sizes before it can grow."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

from analytics.errors import FileRefusedError
from analytics.tables import bounds
from analytics.tables.bounds import check_unpacked, too_much
from analytics.tables.sheets import Row, Sheet, cell_text, made_sheet


def parquet_sheet(path: Path) -> Sheet:
    """Open Parquet as a sheet.

    Parameters
    ----------
    path : Path
        File.

    Returns
    -------
    sheet : Sheet
        Its columns.

    Raises
    ------
    FileRefusedError
        If it is damaged or would unpack to too much.
    """
    import pyarrow as pa
    import pyarrow.compute as pc
    import pyarrow.parquet as pq

    size = path.stat().st_size
    try:
        with path.open("rb") as file:  # a path would be read as an address too
            opened = pq.ParquetFile(file)
            _check_parquet(path.name, opened.metadata, size)
            declared = opened.metadata.num_rows
            headers = list(opened.schema_arrow.names)
            texts = [f.name for f in opened.schema_arrow if pa.types.is_string(f.type)]
    except (pa.ArrowException, OSError) as error:
        raise FileRefusedError(
            f"`{path.name}` is no sound Parquet file: {error}"
        ) from error

    def rows() -> Iterator[Row]:
        yield 0, headers
        number = letters = 0
        try:
            with path.open("rb") as file:
                opened = pq.ParquetFile(file, read_dictionary=texts)
                for batch in opened.iter_batches(batch_size=10_000):
                    if number + batch.num_rows > declared:  # so its sizes lie too
                        raise FileRefusedError(
                            f"`{path.name}` is damaged: it declares {declared:,} rows "
                            "and holds more; write it anew"
                        )
                    # How long texts are is known before each is repeated.
                    for column in batch.columns:
                        if pa.types.is_dictionary(column.type):
                            lengths = pc.binary_length(column.dictionary)
                            letters += pc.sum(lengths.take(column.indices)).as_py() or 0
                            check_unpacked(path.name, letters, size)
                    for values in zip(
                        *(c.to_pylist() for c in batch.columns), strict=True
                    ):
                        number += 1
                        yield number, [cell_text(value) for value in values]
        except (pa.ArrowException, OSError) as error:
            raise FileRefusedError(f"`{path.name}` is damaged: {error}") from error

    return made_sheet(path, rows, header_at=0)


def _check_parquet(name: str, metadata: Any, size: int) -> None:
    """Refuse by its declared sizes what would unpack to too much."""
    groups = [metadata.row_group(n) for n in range(metadata.num_row_groups)]
    columns = [g.column(n) for g in groups for n in range(g.num_columns)]
    cells = max(sum(column.num_values for column in columns), metadata.num_rows)
    if cells > bounds.MOST_CELLS:
        raise too_much(name, f"{metadata.num_rows:,} rows with {cells:,} cells",
                       bounds.MOST_CELLS, " cells")  # fmt: skip
    stored = sum(column.total_uncompressed_size for column in columns)
    check_unpacked(name, max(stored, 8 * cells), size)  # a cell takes 8 bytes or more
