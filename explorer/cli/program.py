"""The program: reads the command line, runs the command, turns whatever happens into an exit code.

0 answered · 1 ran, but no answer can be given · 2 bad input · 130 interrupted. A traceback is never shown, unless
the environment variable MHDSTAGE_TRACEBACK asks for it.
"""

import argparse
import atexit
import contextlib
import gc
import importlib
import os
from collections.abc import Iterator, Sequence
from pathlib import Path
from types import ModuleType
from typing import Final, NoReturn

from explorer.cli.questions import COMMANDS, Command
from explorer.cli.terminal import Terminal
from explorer.page.usage import UsageError

ANSWERED: Final = 0
NO_ANSWER: Final = 1
BAD_INPUT: Final = 2
INTERRUPTED: Final = 130

_CAUTION: Final = (
    "High voltage and stored energy, strong magnets, oxidisers and hot firings kill. Results are predictions with"
    " limits; local codes, range rules and licensed practice come first."
)

_CACHE: Final = "MHDSTAGE_CACHE"
_TRACEBACK: Final = "MHDSTAGE_TRACEBACK"


def main(argv: Sequence[str] | None = None) -> int:
    """Run the command line and return its exit code."""
    terminal = Terminal()
    try:
        return _run(argv, terminal)
    except SystemExit as stop:  # --help has been printed
        return stop.code if isinstance(stop.code, int) else ANSWERED
    except KeyboardInterrupt:
        terminal.complain("interrupted; nothing was written")
        return INTERRUPTED
    except Exception as error:
        if os.environ.get(_TRACEBACK):
            raise
        from explorer.cli import failures  # which knows the model's errors, and so loads it

        code, words = failures.told(error)
        terminal.complain(words)
        return code


def _run(argv: Sequence[str] | None, terminal: Terminal) -> int:
    arguments = parser().parse_args(argv)
    if arguments.version:
        from explorer.store.provenance import commit, version  # which looks for the program's own checkout

        terminal.out(f"mhdstage {version()} ({commit() or 'commit unknown'})\n")
        return ANSWERED
    if arguments.command is None:
        terminal.out(parser().format_help())
        return BAD_INPUT
    terminal.quiet = getattr(arguments, "quiet", False) or getattr(arguments, "json", False)
    with _cache(getattr(arguments, "cache", None)):
        command = next(command for command in COMMANDS if command.name == arguments.command)
        return int(_loaded(command).run(arguments, terminal))


def _loaded(command: Command) -> ModuleType:
    """The module that runs a command, and the room of a question; looking for garbage meanwhile finds none."""
    gc.disable()
    try:
        module = importlib.import_module(command.module)
        if command.module == Command.module:  # a question
            importlib.import_module(f"explorer.questions.{command.name}.answer")
    finally:
        gc.enable()
    if not gc.get_freeze_count():  # once a process: what is loaded stays
        gc.freeze()
        atexit.register(gc.freeze)  # nor is it worth a search at the end
    return module


@contextlib.contextmanager
def _cache(folder: Path | None) -> Iterator[None]:
    """Let the cache be in a folder; processes that build gas tables inherit it."""
    if folder is None:
        yield
        return
    before = os.environ.get(_CACHE)
    os.environ[_CACHE] = str(folder.absolute())
    try:
        yield
    finally:
        if before is None:
            del os.environ[_CACHE]
        else:
            os.environ[_CACHE] = before


class _Parser(argparse.ArgumentParser):
    """A parser whose complaints are one line."""

    def error(self, message: str) -> NoReturn:
        raise UsageError(f"{message} (see {self.prog} --help)")


def parser() -> argparse.ArgumentParser:
    """Return the parser of all commands."""
    top = _Parser(
        prog="mhdstage",
        description="What a seeded rocket exhaust fired through a magnetic channel does, and what to test next.",
        epilog=_CAUTION,
    )
    top.add_argument("--version", action="store_true", help="say which version this is")
    commands = top.add_subparsers(dest="command", metavar="COMMAND", parser_class=_Parser)
    for command in COMMANDS:
        words = command.words
        command.options(
            commands.add_parser(
                command.name, help=words, description=f"{words[0].upper()}{words[1:]}.", epilog=_CAUTION
            )
        )
    return top
