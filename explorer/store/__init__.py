"""What is kept on disk: gas tables in the cache, results in their folders with their provenance."""

from explorer.store.joint_samples import (
    Column,
    JointSample,
    JointSampleError,
    read_joint_sample,
    write_joint_sample,
)
from explorer.store.parquet import parquet_is_there, write_parquet
from explorer.store.provenance import envelope, json_text
from explorer.store.results import ResultsError, ResultsFolder, results_folder
from explorer.store.samples import SampleFiles, sample_bytes, sample_files
from explorer.store.searches import SearchFile, search_file
from explorer.store.tables import read_table, write_table

__all__ = [
    "Column",
    "JointSample",
    "JointSampleError",
    "ResultsError",
    "ResultsFolder",
    "SampleFiles",
    "SearchFile",
    "envelope",
    "json_text",
    "parquet_is_there",
    "read_joint_sample",
    "read_table",
    "results_folder",
    "sample_bytes",
    "sample_files",
    "search_file",
    "write_joint_sample",
    "write_parquet",
    "write_table",
]
