"""Figures with their sampling errors as JSON and CSV have them."""

from collections.abc import Mapping
from typing import Any

from explorer.analysis.scrambles import Estimate


def with_standard_errors(
    figures: Mapping[str, Estimate | tuple[Estimate, Estimate] | float | None],
) -> dict[str, Any]:
    """Return values by name, and their standard errors by the same names under "standard_error".

    A pair of figures, the ends of an interval, becomes a list; a figure that isn't there null. A bare number has no
    error.
    """
    return {
        **{name: _value(figure) for name, figure in figures.items()},
        "standard_error": {
            name: _error(figure) for name, figure in figures.items() if not isinstance(figure, float)
        },
    }


def _value(figure: Estimate | tuple[Estimate, Estimate] | float | None) -> Any:
    if isinstance(figure, tuple):
        return [float(end) for end in figure]
    return None if figure is None else float(figure)


def _error(figure: Estimate | tuple[Estimate, Estimate] | None) -> Any:
    if isinstance(figure, tuple):
        return [end.error for end in figure]
    return None if figure is None else figure.error


def columns(name: str, figure: Estimate, unit: str = "") -> dict[str, float]:
    """Return a figure and its standard error as cells of a table row, the unit in each head where one is given."""
    head = f" [{unit}]" if unit else ""
    return {f"{name}{head}": float(figure), f"{name}_standard_error{head}": figure.error}
