"""The console command `mhdstage`: arguments and paths, and the only place that prints."""

from explorer.cli.program import main

__all__ = ["main"]
