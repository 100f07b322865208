"""The arguments of every command. Nothing here loads the model, so that help comes at once."""

import argparse
import math
import os
from collections.abc import Sequence
from pathlib import Path
from typing import Any, Final, NoReturn

from explorer.page.usage import UsageError

FORMATS: Final = ("svg", "png", "pdf")

#: Format in which a sample itself can be had (`explorer.page.answer` says so too, and loads the model).
SAMPLES_FORMAT: Final = "parquet"

_CAUTION: Final = (
    "High voltage and stored energy, strong magnets, oxidizers and hot firings kill. Results are predictions with"
    " limits; local codes, range rules and licensed practice come first."
)


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
    _new(commands)
    _explain(commands)
    _solve(commands)
    _propagate(commands)
    _rank(commands)
    _optimize(commands)
    _compare(commands)
    _flight(commands)
    _scale(commands)
    return top


def _command(commands: Any, name: str, words: str) -> argparse.ArgumentParser:
    command: argparse.ArgumentParser = commands.add_parser(
        name, help=words, description=words[0].upper() + words[1:] + ".", epilog=_CAUTION
    )
    return command


def _new(commands: Any) -> None:
    new = _command(commands, "new", "write a commented study to fill in")
    new.add_argument("name", metavar="NAME", help="name of the study; NAME.toml is written")


def _explain(commands: Any) -> None:
    explain = _command(commands, "explain", "explain an input, output, fuel, seed, status or warning")
    explain.add_argument("name", metavar="NAME", nargs="*", help="what to explain; all there is if left out")


def _solve(commands: Any) -> None:
    solve = _command(commands, "solve", "work out the operating point at central values")
    _study(solve)
    solve.add_argument("--burn", metavar="TIME", help='amounts of propellants for a burn, such as "6 s"')
    _results(solve)


def _propagate(commands: Any) -> None:
    propagate = _command(commands, "propagate", "say how sure the prediction is, for one future firing")
    _study(propagate)
    propagate.add_argument(
        "--quantities",
        type=_names,
        metavar="LIST",
        help="outputs wanted, with commas between; the study's target if left out",
    )
    size = propagate.add_mutually_exclusive_group()
    size.add_argument(
        "--samples",
        type=_positive,
        default=131_072,
        metavar="N",
        help="points, rounded up to 8 times a power of two (default: 131072)",
    )
    size.add_argument(
        "--digits",
        type=_positive,
        metavar="D",
        help="instead of a number of points: significant digits of each standard uncertainty that shall stand",
    )
    _random_number(propagate)
    propagate.add_argument(
        "--shortest", action="store_true", help="give the shortest 95 %% intervals beside the symmetric ones"
    )
    propagate.add_argument("--resume", action="store_true", help="go on with a run that was broken off")
    propagate.add_argument(
        "--backend", choices=("dask",), help="work on a cluster instead of this machine; needs --scheduler"
    )
    propagate.add_argument("--scheduler", metavar="ADDRESS", help="of a Dask scheduler that runs")
    _jobs(propagate)
    _results(propagate, samples=True)


def _rank(commands: Any) -> None:
    rank = _command(
        commands, "rank", "rank what makes the answer unsure, and what a test should pin down first"
    )
    _study(rank)
    rank.add_argument(
        "--target",
        type=_names,
        metavar="LIST",
        help="outputs ranked, with commas between; the study's target if left out",
    )
    rank.add_argument(
        "--base",
        type=_positive,
        default=8192,
        metavar="N",
        help="rows of the design, rounded up to 8 times a power of two (default: 8192)",
    )
    rank.add_argument(
        "--group",
        dest="groups",
        metavar="NAME=LIST",
        action="append",
        default=[],
        help="rank inputs together, such as gaps=channel.gap_in,channel.gap_out; may be given several times",
    )
    rank.add_argument(
        "--against",
        type=Path,
        metavar="STUDY",
        help="rank how the target differs from that of another study, to which --set does not apply",
    )
    rank.add_argument(
        "--no-guesses", action="store_true", help="don't try whether the first choice survives other ranges"
    )
    rank.add_argument(
        "--elementary", action="store_true", help="a cheap first look instead: one input moved at a time"
    )
    _random_number(rank)
    _jobs(rank)
    _results(rank)


def _optimize(commands: Any) -> None:
    optimize = _command(
        commands, "optimize", "look for the design that makes a wish largest or smallest within the limits"
    )
    _study(optimize)
    optimize.add_argument(
        "--budget", type=_positive, default=500, metavar="N", help="designs tried at most (default: 500)"
    )
    optimize.add_argument(
        "--central",
        action="store_true",
        help="look at central values only: quick, and blind to what is unsure",
    )
    optimize.add_argument("--resume", action="store_true", help="go on with a run that was broken off")
    _random_number(optimize)
    _jobs(optimize)
    _results(optimize)


def _compare(commands: Any) -> None:
    compare = _command(
        commands, "compare", "put designs beside each other and say which differences are real"
    )
    compare.add_argument(
        "studies",
        metavar="STUDY",
        nargs="+",
        type=Path,
        help="the studies' files, two or more; the others are held against the first",
    )
    _set(compare, "replace a value in each of the studies")
    compare.add_argument(
        "--quantities",
        type=_names,
        metavar="LIST",
        help="further outputs, with commas between, besides the targets and the usual ones",
    )
    compare.add_argument(
        "--samples",
        type=_positive,
        default=16_384,
        metavar="N",
        help="points, the same for all designs, rounded up to 8 times a power of two (default: 16384)",
    )
    _random_number(compare)
    _jobs(compare)
    _results(compare)


def _flight(commands: Any) -> None:
    flight = _command(commands, "flight", "say whether the stage pays in flight, with and without it")
    _study(flight)
    flight.add_argument(
        "--samples",
        type=_positive,
        default=4096,
        metavar="N",
        help="scenarios, rounded up to 8 times a power of two (default: 4096)",
    )
    _random_number(flight)
    _jobs(flight)
    _results(flight)


def _scale(commands: Any) -> None:
    scale = _command(
        commands,
        "scale",
        "look at the way to a larger design: where its regime changes and what to fire on it",
    )
    scale.add_argument("study", metavar="STUDY", type=Path, help="the study of what is fired now")
    scale.add_argument(
        "--toward",
        metavar="STUDY",
        type=Path,
        required=True,
        help="the study of the design that it shall lead to, whose target is looked at",
    )
    _set(scale, "replace a value in both studies")
    scale.add_argument(
        "--points", type=_positive, default=9, metavar="N", help="designs between the two (default: 9)"
    )
    scale.add_argument(
        "--cost-exponent",
        type=_not_negative_number,
        default=2.0,
        metavar="X",
        help="power of the size with which the cost of a firing grows (default: 2)",
    )
    scale.add_argument(
        "--samples",
        type=_positive,
        default=16_384,
        metavar="N",
        help="points, the same for all designs, rounded up to 8 times a power of two (default: 16384)",
    )
    _random_number(scale)
    _jobs(scale)
    _results(scale)


def _study(command: argparse.ArgumentParser) -> None:
    command.add_argument("study", metavar="STUDY", type=Path, help="the study's file")
    _set(command, "replace a value")


def _set(command: argparse.ArgumentParser, words: str) -> None:
    command.add_argument(
        "--set",
        dest="replacements",
        metavar="ADDRESS=VALUE",
        action="append",
        default=[],
        help=f'{words}, such as magnet.field="0.6 T"; may be given several times',
    )


def _random_number(command: argparse.ArgumentParser) -> None:
    command.add_argument(
        "--random-number", type=_not_negative, metavar="N", help="random number; the study's if left out"
    )


def _jobs(command: argparse.ArgumentParser) -> None:
    command.add_argument(
        "--jobs", type=_positive, default=cores(), metavar="N", help="threads (default: the cores there are)"
    )


def _results(command: argparse.ArgumentParser, *, samples: bool = False) -> None:
    known = (*FORMATS, SAMPLES_FORMAT) if samples else FORMATS
    what = f"pictures, and of the sample ({SAMPLES_FORMAT})" if samples else "pictures"
    command.add_argument("--json", action="store_true", help="print JSON, and nothing else")
    command.add_argument("--out", type=Path, metavar="DIR", help="folder of the results, replaced as a whole")
    command.add_argument("--keep", action="store_true", help="keep earlier results and number these")
    command.add_argument(
        "--formats",
        type=lambda text: _formats(text, known),
        default=("svg", "png"),
        metavar="LIST",
        help=f"formats of the {what}; of {', '.join(known)} (default: svg,png)",
    )
    command.add_argument("--cache", type=Path, metavar="DIR", help="folder for gas tables and compiled code")
    command.add_argument("--quiet", action="store_true", help="no progress")


def cores() -> int:
    """Return how many cores this process may use. [-]"""
    try:
        return len(os.sched_getaffinity(0))
    except AttributeError:  # not on every platform
        return os.cpu_count() or 1


def _positive(text: str) -> int:
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


def _not_negative_number(text: str) -> float:
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


def _names(text: str) -> tuple[str, ...]:
    found = tuple(dict.fromkeys(part.strip() for part in text.split(",") if part.strip()))
    if not found:
        raise argparse.ArgumentTypeError(
            'expected outputs with commas between, such as "thrust_gain,current"'
        )
    return found
