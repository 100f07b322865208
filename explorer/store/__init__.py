"""What is kept on disk: gas tables in the cache, results in their folders with their provenance."""

from explorer.store.provenance import envelope, json_text
from explorer.store.results import ResultsError, ResultsFolder, results_folder
from explorer.store.tables import read_table, write_table

__all__ = [
    "ResultsError",
    "ResultsFolder",
    "envelope",
    "json_text",
    "read_table",
    "results_folder",
    "write_table",
]
