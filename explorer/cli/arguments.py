"""Kinds of options that commands share. Nothing here loads the model, so that help comes at once."""

import argparse
import math
import os
from collections.abc import Sequence
from pathlib import Path
from typing import Final

from explorer.page.usage import SAMPLE_FORMAT

FORMATS: Final = ("svg", "png", "pdf")


def study(command: argparse.ArgumentParser) -> None:
    command.add_argument("study", metavar="STUDY", type=Path, help="the study's file")
    replaced(command, "replace a value")


def replaced(command: argparse.ArgumentParser, words: str) -> None:
    command.add_argument(
        "--set",
        dest="replacements",
        metavar="ADDRESS=VALUE",
        action="append",
        default=[],
        help=f'{words}, such as magnet.field="0.6 T"; may be given several times',
    )


def samples(command: argparse.ArgumentParser, default: int, what: str) -> None:
    command.add_argument(
        "--samples",
        type=positive,
        default=default,
        metavar="N",
        help=f"{what}, rounded up to 8 times a power of two (default: {default})",
    )


def random_number(command: argparse.ArgumentParser) -> None:
    command.add_argument(
        "--random-number", type=_not_negative, metavar="N", help="random number; the study's if left out"
    )


def jobs(command: argparse.ArgumentParser) -> None:
    command.add_argument(
        "--jobs", type=positive, default=cores(), metavar="N", help="threads (default: the cores there are)"
    )


def results(command: argparse.ArgumentParser, *, samples: bool = False) -> None:
    known = (*FORMATS, SAMPLE_FORMAT) if samples else FORMATS
    what = f"pictures, and of the sample ({SAMPLE_FORMAT})" if samples else "pictures"
    command.add_argument("--all", action="store_true", help="print all of the answer, not in short")
    command.add_argument("--json", action="store_true", help="print JSON, and nothing else")
    command.add_argument("--out", type=Path, metavar="DIR", help="folder of the results, replaced as a whole")
    command.add_argument("--keep", action="store_true", help="keep earlier results and number these")
    command.add_argument(
        "--formats",
        type=lambda text: _formats(text, known),
        default=(),
        metavar="LIST",
        help=f"files of the {what} beside the page; of {', '.join(known)} (default: none)",
    )
    command.add_argument("--cache", type=Path, metavar="DIR", help="folder for gas tables and compiled code")
    command.add_argument("--quiet", action="store_true", help="no progress")


def cores() -> int:
    """Return how many cores this process may use. [-]"""
    try:
        return len(os.sched_getaffinity(0))
    except AttributeError:  # not on every platform
        return os.cpu_count() or 1


def positive(text: str) -> int:
    return _whole(text, 1)


def _not_negative(text: str) -> int:
    return _whole(text, 0)


def _whole(text: str, least: int) -> int:
    try:
        number = int(text)
    except ValueError:
        number = least - 1
    if number < least:
        raise argparse.ArgumentTypeError(f'expected a whole number, {least} or more, got "{text}"')
    return number


def not_negative_number(text: str) -> float:
    try:
        number = float(text)
    except ValueError:
        number = -1.0
    if not 0.0 <= number < math.inf:
        raise argparse.ArgumentTypeError(f'expected a number, 0 or more, got "{text}"')
    return number


def _formats(text: str, known: Sequence[str]) -> tuple[str, ...]:
    wanted = tuple(part.strip().lower() for part in text.split(",") if part.strip())
    for part in wanted:
        if part not in known:
            raise argparse.ArgumentTypeError(f'"{part}" is none of {", ".join(known)}')
    return wanted


def names(text: str) -> tuple[str, ...]:
    found = tuple(dict.fromkeys(part.strip() for part in text.split(",") if part.strip()))
    if not found:
        raise argparse.ArgumentTypeError(
            'expected outputs with commas between, such as "thrust_gain,current"'
        )
    return found
