"""How pictures look: black on white, told apart by line and hatch, so that they survive a grey printer."""

import io
import re
from collections.abc import Iterable, Sequence
from typing import Any, Final

import matplotlib as mpl
import numpy as np
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.layout_engine import ConstrainedLayoutEngine
from matplotlib.patheffects import withStroke

from explorer.units import Scale, from_si

DARK: Final = "#0b6e6e"  #: dark and light teal: far apart in grey too
LIGHT: Final = "#b5d6d3"
SHADE: Final = "#e6e6e6"

_STYLE: Final[Any] = {  # matplotlib's type of a setting's name is a list of them all
    "font.size": 9.0,
    "axes.titlesize": 9.0,
    "axes.spines.top": False,
    "axes.spines.right": False,
    "axes.linewidth": 0.8,
    "lines.linewidth": 1.4,
    "hatch.linewidth": 0.8,
    "svg.hashsalt": "mhdstage",  # the same picture is the same file
}

#: What the name of a part begins with that says its value, and how near to a point a pointer need be [points].
_TOLD: Final = "value: "
_POINTER: Final = 10.0

_SPELLINGS: Final = {"ohm": "Ω", "^2": "²", "^3": "³", "^-1": "⁻¹"}

#: What stands behind a line that crosses hatching or bars, so that it is seen there.
CLEAR: Final = (withStroke(linewidth=3.0, foreground="white"),)

#: From which value on an axis reads better in thousands of its unit, and units that have them.
_LARGE: Final = 1e4
_THOUSANDS: Final = {"N": "kN", "V": "kV", "W": "kW"}


def style() -> Any:
    """Return a context in which figures are made and saved."""
    return mpl.rc_context(_STYLE)


def blank(width: float, height: float, *, settles: bool = True) -> Figure:
    """Return an empty figure with its own canvas, which finds its margins by itself unless it shall not."""
    layout = ConstrainedLayoutEngine(w_pad=0.1, h_pad=0.06) if settles else None
    figure = Figure(figsize=(width, height), layout=layout)
    FigureCanvasAgg(figure)
    return figure


def tell(artist: Artist, words: str) -> None:
    """Have a part of a picture say its value to a pointer that rests on it."""
    artist.set_gid(f"{_TOLD}{words}")


def tell_points(axes: Axes, points: Iterable[tuple[float, float, str]]) -> None:
    """Have points say their words to a pointer near them: over each an unseen mark; axes keep their ends."""
    for x, y, words in points:
        if np.isfinite(x) and np.isfinite(y):
            unseen = axes.scatter([x], [y], s=_POINTER**2, color="black", alpha=0.0, zorder=9)
            tell(unseen, words)


def axis_label(words: str, scale: Scale) -> str:
    """Return an axis label with its unit: "pressure p [bar]"."""
    unit = scale.shown_unit
    return words if unit in ("", "1") else f"{words} [{printed(unit)}]"


def printed(text: str) -> str:
    """Return a text with its units as they are printed: "at most 2 A/cm²"."""
    for written, spelled in _SPELLINGS.items():
        text = text.replace(written, spelled)
    return text


def fitting(scale: Scale, largest: float) -> Scale:
    """Return a scale in thousands of its unit where the largest value [unit] asks for it: kW instead of W."""
    large = from_si(abs(largest), scale.unit, scale.shown_unit) >= _LARGE
    return Scale(scale.unit, _THOUSANDS.get(scale.shown_unit, scale.shown_unit)) if large else scale


def plain(value: float, _: object = None) -> str:
    """Return a number of an axis in plain digits, thousands apart: "200 000", never "2e+05"."""
    text = np.format_float_positional(value, trim="-", precision=12)
    whole, point, places = text.partition(".")
    grouped = f"{int(whole):,}".replace(",", "\u2009") if abs(value) >= _LARGE else whole
    return f"{grouped}{point}{places}".replace("-", "−")


def image(figure: Figure, form: str) -> bytes:
    """Return a figure as the content of a file."""
    content = io.BytesIO()
    dates = {"svg": {"Date": None}, "pdf": {"CreationDate": None}}
    with style():
        layout = figure.get_layout_engine()
        if layout is not None:
            layout.execute(figure)
            figure.set_layout_engine(
                "none"
            )  # it has settled: in no form need it be laid out, or drawn, twice
        figure.savefig(content, format=form, dpi=150, metadata=dates.get(form))
    return content.getvalue()


def images(figure: Figure, formats: Sequence[str]) -> tuple[str, dict[str, bytes]]:
    """Return a figure as an SVG element to stand in a page, and as the contents of files by format."""
    found = {form: image(figure, form) for form in dict.fromkeys(("svg", *formats))}
    element = svg_element(found["svg"], figure.get_figwidth())
    return element, {form: found[form] for form in formats}


def svg_element(content: bytes, width: float) -> str:
    """Return the content of an SVG file as an element to stand in a page."""
    text = content.decode("utf-8")
    element = re.sub(r"\s*<metadata>.*?</metadata>", "", text[text.index("<svg") :], flags=re.DOTALL)
    pixels = width * 96  # of a page, in an inch
    element = re.sub(rf'<g id="{_TOLD}([^"]*)">', r"<g><title>\1</title>", element)
    return element.replace(
        "<svg ", f'<svg role="img" style="width:100%;max-width:{pixels:.0f}px;height:auto" ', 1
    )
