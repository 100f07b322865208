"""How a result shows itself: its main figures as a short table, text at a prompt and HTML in a notebook; its picture.

What draws a result knows it, and not the other way round: the picture is asked of `pictures` in the result's room.
"""

from abc import ABC, abstractmethod
from dataclasses import dataclass
from html import escape
from importlib import import_module
from typing import TYPE_CHECKING

from explorer import registry, units

if TYPE_CHECKING:  # who doesn't plot needn't wait for it
    from matplotlib.figure import Figure


@dataclass(frozen=True)
class Summary:
    """A result's main figures as texts."""

    title: str
    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


class Shown(ABC):
    """A result that shows its summary wherever it is looked at, and can be drawn.

    Its dataclass is made with ``repr=False``; `pictures` of its room offers ``picture(result, what)``.
    """

    @abstractmethod
    def _summary(self) -> Summary:
        """The main figures with their units."""

    def __repr__(self) -> str:
        """The summary as lines of text."""
        summary = self._summary()
        every = [summary.head, *summary.rows]
        widths = [max(map(len, column)) for column in zip(*every, strict=True)]
        lines = ["  ".join(map(str.ljust, row, widths)).rstrip() for row in every]
        return "\n".join([summary.title, *(f"  {line}" for line in lines)])

    def plot(self, what: str | None = None) -> "Figure":
        """Draw a picture of the result.

        Parameters
        ----------
        what : str, optional
            Which one, where there are several; the main one if left out.

        Returns
        -------
        matplotlib.figure.Figure
        """
        room = ".".join(type(self).__module__.split(".")[:3])
        figure: Figure = import_module(f"{room}.pictures").picture(self, what)
        return figure

    def _repr_html_(self) -> str:
        """The summary as a table for a notebook."""
        summary = self._summary()
        head = "".join(f"<th>{escape(cell)}</th>" for cell in summary.head)
        rows = ("".join(f"<td>{escape(cell)}</td>" for cell in row) for row in summary.rows)
        body = "".join(f"<tr>{row}</tr>" for row in rows)
        return f"<p>{escape(summary.title)}</p><table><tr>{head}</tr>{body}</table>"


def scale_of(name: str) -> units.Scale:
    """How values [SI] of a quantity are written; as they are where a callable gave them."""
    try:
        return registry.quantity(name).scale
    except registry.UnknownAddressError:
        return units.Scale("1", "1")
