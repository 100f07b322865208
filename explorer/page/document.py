"""What a report is made of: sections of paragraphs, tables and pictures, to be printed or laid out as a page."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:  # what only prints words needn't wait for it
    from matplotlib.figure import Figure

Audience = Literal["everyone", "reviewer"]


@dataclass(frozen=True)
class Paragraph:
    """Sentences, broken to the width of the page."""

    text: str
    marked: bool = False  #: stands out, as a warning does


@dataclass(frozen=True)
class Lines:
    """Lines that stand as they are, such as a formula with its numbers."""

    lines: tuple[str, ...]


@dataclass(frozen=True)
class Table:
    """Rows of texts; a column of numbers stands to the right."""

    rows: tuple[tuple[str, ...], ...]
    head: tuple[str, ...] = ()
    numbers: frozenset[int] = frozenset()  #: columns that are aligned to the right
    standing: int = (
        0  #: leading columns that stand again in each part where a terminal needs several; 0: never parted
    )


@dataclass(frozen=True)
class Picture:
    """A picture of the page, and a file of its own; on a terminal its caption is left out too."""

    name: str  #: of its file, and one of its own among the pictures of an answer
    figure: "Figure"
    caption: str


@dataclass(frozen=True)
class Requirement:
    """The chance of meeting any requirement: a slider on a page, a table in print; a terminal leaves it out."""

    name: str
    unit: str  #: as shown
    quantiles: tuple[float, ...]  #: at equal steps of chance from 0 to 1 [shown unit]
    at_least: bool  #: or at most
    points: int  #: of the sample that they come from


Part = Paragraph | Lines | Table | Picture | Requirement


@dataclass(frozen=True)
class Section:
    """A heading and what stands below it."""

    title: str
    parts: tuple[Part, ...]
    as_written: bool = False  #: the title is a name, in which small and capital letters differ
    audience: Audience = "everyone"  #: on a page, what is for a reviewer comes after everything else
    folded: bool = False  #: on a page, stands closed until somebody opens it or prints


def section(
    title: str, parts: Iterable[Part | str], *, as_written: bool = False, audience: Audience = "everyone"
) -> Section:
    """Return a section; a text among its parts is a paragraph."""
    every = tuple(Paragraph(part) if isinstance(part, str) else part for part in parts)
    return Section(title, every, as_written, audience)


def for_reviewers(title: str, parts: Iterable[Part | str]) -> Section:
    """Return a section of a page's second part."""
    return section(title, parts, audience="reviewer")
