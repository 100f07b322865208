"""Printing: answers to standard output, progress and complaints to standard error, in whatever it can show."""

import os
import shutil
import sys
import unicodedata
from collections.abc import Callable
from typing import Final, TextIO

Progress = Callable[[int, int], None]

#: How a character is spelled where it can't be shown.
_SPELLINGS: Final = {
    "²": "^2",
    "³": "^3",
    "×": "x",
    "·": "*",
    "±": "+/-",
    "−": "-",
    "–": "-",
    "…": "...",
    "½": "1/2",
    "°": "deg ",
    "∫": "integral ",
    "Δ": "d",
    "Ω": "ohm",
    "α": "alpha",
    "β": "beta",
    "ε": "epsilon",
    "η": "eta",
    "μ": "mu",
    "µ": "mu",
    "ρ": "rho",
    "σ": "sigma",
    "τ": "tau",
    "█": "#",
    "░": "-",
}


class Terminal:
    """What a command prints on."""

    def __init__(self, *, quiet: bool = False) -> None:
        self.quiet = quiet
        self._line = 0  # characters of the progress line that stands there now

    @property
    def shows_unicode(self) -> bool:
        """Whether standard output can show any character."""
        return _encoding(sys.stdout).lower().replace("-", "").startswith("utf")

    @property
    def width(self) -> int:
        """Characters of a line: those of the terminal, 100 at most; 80 where there is none."""
        columns = shutil.get_terminal_size((80, 24)).columns if sys.stdout.isatty() else 80
        return max(20, min(columns, 100))

    @property
    def interactive(self) -> bool:
        """Whether somebody watches standard error."""
        return not self.quiet and sys.stderr.isatty()

    def out(self, text: str) -> None:
        """Print an answer; a reader who has gone away is no error."""
        self.clear()
        try:
            sys.stdout.write(showable(text, _encoding(sys.stdout)))
            sys.stdout.flush()
        except BrokenPipeError:
            os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())

    def complain(self, text: str) -> None:
        """Say in a line or two on standard error what went wrong."""
        self.clear()
        sys.stderr.write(showable(f"mhdstage: {text}\n", _encoding(sys.stderr)))

    def note(self, text: str) -> None:
        """Say what is going on, to somebody who watches."""
        if self.interactive:
            self.clear()
            sys.stderr.write(showable(f"{text}\n", _encoding(sys.stderr)))
            sys.stderr.flush()

    def progress(self, what: str) -> Progress | None:
        """Return what is to be told (done, total), or None where nobody watches."""
        if not self.interactive:
            return None

        def told(done: int, total: int) -> None:
            text = f"{what}: {100 * done // max(total, 1)} %"
            sys.stderr.write("\r" + text.ljust(self._line))
            sys.stderr.flush()
            self._line = len(text)
            if done >= total:
                self.clear()

        return told

    def clear(self) -> None:
        """Take the progress line away."""
        if self._line:
            sys.stderr.write("\r" + " " * self._line + "\r")
            sys.stderr.flush()
            self._line = 0


def _encoding(stream: TextIO) -> str:
    return getattr(stream, "encoding", None) or "utf-8"


def showable(text: str, encoding: str) -> str:
    """Return a text in which every character can be encoded."""
    try:
        text.encode(encoding)
    except UnicodeEncodeError:
        return "".join(_spelled(letter, encoding) for letter in text)
    return text


def _spelled(letter: str, encoding: str) -> str:
    bare = "".join(part for part in unicodedata.normalize("NFKD", letter) if not unicodedata.combining(part))
    for candidate in (letter, _SPELLINGS.get(letter, bare), "?"):
        try:
            candidate.encode(encoding)
        except UnicodeEncodeError:
            continue
        return candidate
    return "?"
