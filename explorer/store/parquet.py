"""Samples as a Parquet file, written group of rows by group of rows, so that memory stays flat."""

from collections.abc import Iterable, Mapping
from importlib import import_module
from importlib.util import find_spec
from pathlib import Path
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import pandas as pd


def parquet_is_there() -> bool:
    """Return whether the optional extra for Parquet is installed."""
    return find_spec("pyarrow") is not None


def write_parquet(path: Path, groups: "Iterable[pd.DataFrame]", facts: Mapping[str, str]) -> None:
    """Write tables of the same columns, one after the other, each a row group of the file."""
    arrow: Any = import_module("pyarrow")
    parquet: Any = import_module("pyarrow.parquet")
    writer: Any = None
    try:
        for group in groups:
            table = arrow.Table.from_pandas(group, preserve_index=False)
            table = table.replace_schema_metadata(dict(facts))
            if writer is None:
                writer = parquet.ParquetWriter(path, table.schema)
            writer.write_table(table)
    finally:
        if writer is not None:
            writer.close()
