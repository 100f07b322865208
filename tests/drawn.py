"""What is wrong with a picture as it is drawn: words cut off at its edge, and words that lie over each other."""

from collections.abc import Iterator
from itertools import combinations
from xml.etree import ElementTree

from matplotlib.axes import Axes
from matplotlib.axis import Axis
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.legend import Legend
from matplotlib.text import Text
from matplotlib.transforms import Bbox

from explorer.page.pictures.style import style

#: By how much boxes may touch, for a box is a little larger than the letters in it [pixels].
_TOUCH = 1.0


def faults(figure: Figure) -> list[str]:
    """Each legend and written word that reaches out of the picture or over another: none, as it should be."""
    canvas = figure.canvas
    assert isinstance(canvas, FigureCanvasAgg)
    with style():
        figure.draw_without_rendering()  # lays it out
        renderer = canvas.get_renderer()  # type: ignore[no-untyped-call]
        boxes = [(text.get_text(), text.get_window_extent(renderer)) for text in _texts(figure)]
        legends = [("the legend", legend.get_window_extent(renderer)) for legend in _legends(figure)]
        own = [
            (text.get_text(), text.get_window_extent(renderer))
            for legend in _legends(figure)
            for text in legend.get_texts()
        ]
    canvas_box = figure.bbox
    found = [f"cut off: {words}" for words, box in (*boxes, *legends, *own) if not _inside(box, canvas_box)]
    pairs = (*combinations((*boxes, *legends), 2), *combinations(own, 2))
    return found + [f"{one} lies over {other}" for (one, a), (other, b) in pairs if _overlap(a, b)]


def written(figure: Figure) -> list[str]:
    """All that is written in a picture, legends too."""
    own = [text.get_text() for legend in _legends(figure) for text in legend.get_texts()]
    return [text.get_text() for text in _texts(figure)] + own


def titles_of(element: str) -> list[str]:
    """What the parts of a picture in a page say to a pointer."""
    return [
        str(found.text) for found in ElementTree.fromstring(element).iter() if found.tag.endswith("title")
    ]


def _texts(figure: Figure) -> Iterator[Text]:
    """All that is written, the words of legends left out."""
    over = (getattr(figure, name, None) for name in ("_suptitle", "_supxlabel", "_supylabel"))
    everything = [*figure.texts, *(text for text in over if text is not None)]
    for axes in figure.axes:
        if axes.get_visible():
            everything += [*axes.texts, *_titles(axes), *_labels(axes.xaxis), *_labels(axes.yaxis)]
    return (text for text in dict.fromkeys(everything) if text.get_visible() and text.get_text().strip())


def _titles(axes: Axes) -> list[Text]:
    return [axes.title, axes._left_title, axes._right_title]  # type: ignore[attr-defined]


def _labels(axis: Axis) -> list[Text]:
    """An axis's own label and those of the ticks that lie within its ends."""
    low, high = sorted(axis.get_view_interval())
    edge = 1e-9 * (high - low)
    ticks = [tick for tick in axis.get_major_ticks() if low - edge <= tick.get_loc() <= high + edge]
    return [axis.label, axis.offsetText, *(label for tick in ticks for label in (tick.label1, tick.label2))]


def _legends(figure: Figure) -> list[Legend]:
    own = (axes.get_legend() for axes in figure.axes if axes.get_visible())
    return [legend for legend in (*figure.legends, *own) if legend is not None]


def _inside(box: Bbox, canvas: Bbox) -> bool:
    return (
        box.x0 >= canvas.x0 - _TOUCH
        and box.y0 >= canvas.y0 - _TOUCH
        and box.x1 <= canvas.x1 + _TOUCH
        and box.y1 <= canvas.y1 + _TOUCH
    )


def _overlap(one: Bbox, other: Bbox) -> bool:
    wide = min(one.x1, other.x1) - max(one.x0, other.x0)
    high = min(one.y1, other.y1) - max(one.y0, other.y0)
    return wide > _TOUCH and high > _TOUCH
