"""The one table of commands: a new question is a folder under `explorer/questions/`, its options and a line here."""

from argparse import ArgumentParser
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from explorer.cli.arguments import (
    jobs,
    names,
    not_negative_number,
    positive,
    random_number,
    replaced,
    results,
    samples,
    study,
)


@dataclass(frozen=True)
class Command:
    """One command: its name, what it does in a few words, its options, the module that runs it."""

    name: str
    words: str
    options: Callable[[ArgumentParser], None]
    module: str = "explorer.cli.command"  #: asks `explorer.questions.<name>.answer`


def _new(command: ArgumentParser) -> None:
    command.add_argument("name", metavar="NAME", help="name of the study; NAME.toml is written")
    command.add_argument(
        "--with",
        dest="sections",
        type=names,
        default=(),
        metavar="LIST",
        help="commented examples to write too, with commas between: instruments, measurements, vary, flight",
    )


def _explain(command: ArgumentParser) -> None:
    command.add_argument("name", metavar="NAME", nargs="*", help="what to explain; all there is if left out")


def _gap(command: ArgumentParser) -> None:
    asked = command.add_mutually_exclusive_group(required=True)
    asked.add_argument(
        "--distance", metavar="LENGTH", help='of the spark, such as "14 mm": gives its voltage'
    )
    asked.add_argument(
        "--voltage", metavar="VOLTAGE", help='such as "42 kV": gives the distance that it jumps'
    )
    command.add_argument(
        "--electrodes",
        choices=("plates", "rounded", "points"),
        default="rounded",
        help="their shape (default: rounded)",
    )
    command.add_argument(
        "--pressure", default="1.01325 bar", metavar="PRESSURE", help="of the air (default: 1.01325 bar)"
    )
    command.add_argument(
        "--temperature", default="20 °C", metavar="TEMPERATURE", help="of the air (default: 20 °C)"
    )
    command.add_argument("--json", action="store_true", help="print JSON, and nothing else")


def _solve(command: ArgumentParser) -> None:
    study(command)
    command.add_argument("--burn", metavar="TIME", help='amounts of propellants for a burn, such as "6 s"')
    results(command)


def _propagate(command: ArgumentParser) -> None:
    study(command)
    command.add_argument(
        "--quantities",
        type=names,
        metavar="LIST",
        help="outputs wanted, with commas between; the study's target if left out",
    )
    size = command.add_mutually_exclusive_group()
    size.add_argument(
        "--samples",
        type=positive,
        default=131_072,
        metavar="N",
        help="points, rounded up to 8 times a power of two (default: 131072)",
    )
    size.add_argument(
        "--digits",
        type=positive,
        metavar="D",
        help="instead of a number of points: significant digits of each standard uncertainty that shall stand",
    )
    random_number(command)
    command.add_argument(
        "--shortest", action="store_true", help="give the shortest 95 %% intervals beside the symmetric ones"
    )
    command.add_argument("--resume", action="store_true", help="go on with a run that was broken off")
    command.add_argument(
        "--backend", choices=("dask",), help="work on a cluster instead of this machine; needs --scheduler"
    )
    command.add_argument("--scheduler", metavar="ADDRESS", help="of a Dask scheduler that runs")
    jobs(command)
    results(command, samples=True)


def _rank(command: ArgumentParser) -> None:
    study(command)
    command.add_argument(
        "--target",
        type=names,
        metavar="LIST",
        help="outputs ranked, with commas between; the study's target if left out",
    )
    command.add_argument(
        "--base",
        type=positive,
        default=8192,
        metavar="N",
        help="base size of the sample, rounded up to 8 times a power of two (default: 8192)",
    )
    command.add_argument(
        "--group",
        dest="groups",
        metavar="NAME=LIST",
        action="append",
        default=[],
        help="rank inputs together, such as gaps=channel.gap_in,channel.gap_out; may be given several times",
    )
    command.add_argument(
        "--against",
        type=Path,
        metavar="STUDY",
        help="rank how the target differs from that of another study, to which --set does not apply",
    )
    command.add_argument(
        "--no-guesses", action="store_true", help="don't try whether the first choice survives other ranges"
    )
    command.add_argument(
        "--elementary", action="store_true", help="a cheap first look instead: one input moved at a time"
    )
    random_number(command)
    jobs(command)
    results(command)


def _optimize(command: ArgumentParser) -> None:
    study(command)
    command.add_argument(
        "--budget",
        type=positive,
        default=500,
        metavar="N",
        help="designs tried in the search itself (default: 500); what follows it takes further ones",
    )
    command.add_argument(
        "--central",
        action="store_true",
        help="look at central values only: quick, and blind to what is unsure",
    )
    command.add_argument("--resume", action="store_true", help="go on with a run that was broken off")
    random_number(command)
    jobs(command)
    results(command)


def _compare(command: ArgumentParser) -> None:
    command.add_argument(
        "studies",
        metavar="STUDY",
        nargs="+",
        type=Path,
        help="the studies' files, two or more, or one with changes; the others are held against the first",
    )
    command.add_argument(
        "--change",
        dest="changes",
        metavar="CHANGES",
        action="append",
        default=[],
        help='the first study\'s hardware with a change, such as \'magnet.field = "0.6 T"; channel.length = "95 mm"\';'
        " may be given several times, a design each",
    )
    replaced(command, "replace a value in each of the studies")
    command.add_argument(
        "--quantities",
        type=names,
        metavar="LIST",
        help="further outputs, with commas between, besides the targets and the usual ones",
    )
    samples(command, 16_384, "points, the same for all designs")
    random_number(command)
    jobs(command)
    results(command)


def _flight(command: ArgumentParser) -> None:
    study(command)
    samples(command, 4096, "scenarios")
    random_number(command)
    jobs(command)
    results(command)


def _scale(command: ArgumentParser) -> None:
    command.add_argument("study", metavar="STUDY", type=Path, help="the study of what is fired now")
    command.add_argument(
        "--toward",
        metavar="STUDY",
        type=Path,
        required=True,
        help="the study of the design that it shall lead to, whose target is looked at",
    )
    replaced(command, "replace a value in both studies")
    command.add_argument(
        "--steps", type=positive, default=9, metavar="N", help="designs between the two (default: 9)"
    )
    command.add_argument(
        "--worth",
        metavar="VALUE",
        help='fall of the target\'s standard uncertainty that a step is fired for: "0.05 N", "3 %%" (default: 2 %%)',
    )
    command.add_argument(
        "--cost-exponent",
        type=not_negative_number,
        default=2.0,
        metavar="X",
        help="power of the size with which the cost of a firing grows (default: 2)",
    )
    samples(command, 16_384, "points, the same for all designs")
    random_number(command)
    jobs(command)
    results(command)


def _firing(command: ArgumentParser) -> None:
    command.add_argument("what", choices=("add",), help="add: write a row in the table of firings")
    command.add_argument("study", metavar="STUDY", type=Path, help="the study of what was fired")
    command.add_argument(
        "--firings",
        type=Path,
        metavar="FILE",
        help="the table; <study>-firings.csv beside the study if left out",
    )
    command.add_argument("--name", metavar="NAME", help="of the firing; what is missing is asked for")
    command.add_argument("--step", metavar="NAME", help="of the burn, where it has several")
    command.add_argument("--seconds", metavar="N", help="how long that lasted")
    command.add_argument("--date", metavar="DATE", help="today if left out")
    command.add_argument("--mode", metavar="MODE", help="where it is not the study's")
    command.add_argument("--note", metavar="TEXT", help="what was noticed")
    command.add_argument(
        "--set",
        dest="settings",
        action="append",
        default=[],
        metavar="ADDRESS=VALUE",
        help="what was set otherwise",
    )
    command.add_argument(
        "--read",
        action="append",
        default=[],
        metavar="ADDRESS=VALUE",
        help='what was read, such as current="8.1 A"',
    )
    command.add_argument("--ask", action="store_true", help="ask for what is missing even without a terminal")


def _card(command: ArgumentParser) -> None:
    study(command)
    which = command.add_mutually_exclusive_group()
    which.add_argument(
        "--firing", metavar="NAME", help="which of the study's [[firing]] tables; the only one if left out"
    )
    which.add_argument(
        "--against",
        metavar="NAME",
        help="instead of a card: hold a firing that was made against its prediction",
    )
    command.add_argument(
        "--firings",
        type=Path,
        metavar="FILE",
        help="where --against finds it; <study>-firings.csv beside the study if left out",
    )
    random_number(command)
    jobs(command)
    results(command)


def _calibrate(command: ArgumentParser) -> None:
    study(command)
    command.add_argument(
        "--firings",
        type=Path,
        metavar="FILE",
        nargs="+",
        default=(),
        help="tables of firings, CSV or TOML; <study>-firings.csv beside the study if left out",
    )
    command.add_argument(
        "--update",
        metavar="NAME",
        help="name of the updated study, written beside the original (default: <study>-calibrated)",
    )
    command.add_argument(
        "--draws",
        type=positive,
        default=1000,
        metavar="N",
        help="size of the joint sample (default: 1000; a minute or two on two cores, 4000 several)",
    )
    command.add_argument(
        "--without-model-error",
        action="store_true",
        help="take the model as right: intervals come out too narrow",
    )
    random_number(command)
    jobs(command)
    results(command)


#: Every command, in the order of the help.
COMMANDS: Final = (
    Command("new", "write a commented study to fill in", _new, "explorer.cli.new"),
    Command(
        "explain",
        "explain an input, output, key, warning, command or word on the page",
        _explain,
        "explorer.cli.explain",
    ),
    Command(
        "gap", "give the voltage of a spark's length, or the length of a voltage", _gap, "explorer.cli.gap"
    ),
    Command("solve", "work out the operating point at central values", _solve),
    Command("propagate", "say how sure the prediction is, for one future firing", _propagate),
    Command("rank", "rank what makes the answer unsure, and what a test should pin down first", _rank),
    Command(
        "optimize", "look for the design that makes a result largest or smallest within the limits", _optimize
    ),
    Command("compare", "put designs beside each other and say which differences are real", _compare),
    Command(
        "card", "print what a firing should read and when to stop; afterwards, hold it against that", _card
    ),
    Command("firing", "write down what a firing read", _firing, "explorer.cli.firing"),
    Command("calibrate", "learn from firings what the study's unknowns are", _calibrate),
    Command("flight", "say whether the stage pays in flight, with and without it", _flight),
    Command(
        "scale", "look at the way to a larger design: where its regime changes and what to fire on it", _scale
    ),
)
