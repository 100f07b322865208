"""`mhdstage explain NAME`: what the registry says about a name, or all there is."""

import argparse

from explorer.cli.explanation import everything, explanation
from explorer.cli.terminal import Terminal
from explorer.page.text import text_of


def run(arguments: argparse.Namespace, terminal: Terminal) -> int:
    name = " ".join(arguments.name).strip()
    terminal.out(text_of(explanation(name) if name else everything()))
    return 0
