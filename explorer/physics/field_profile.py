"""A measured magnetic field along the channel's axis: two columns in a text, and the curve through them.

The first line names both columns and their units, as in ``x [mm], field [T]``; commas, semicolons, tabs or
blanks separate the columns, ``#`` starts a comment. Between the points runs SciPy's shape-preserving cubic
(Fritsch and Carlson 1980), which doesn't overshoot; outside them there is no field to state, so NaN.
"""

import math
import re
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

FloatArray = NDArray[np.float64]

_LENGTH_UNITS: Final = {"m": 1.0, "cm": 1e-2, "mm": 1e-3, "in": 0.0254}
_FIELD_UNITS: Final = {"T": 1.0, "mT": 1e-3, "kG": 0.1, "G": 1e-4}
_COLUMN: Final = re.compile(r"\s*(x|field|B)\s*[\[(]\s*(\w+)\s*[\])]\s*", re.IGNORECASE)
_FEWEST_POINTS: Final = 3
#: Above this no magnet that a small team owns reaches [T]; a larger number has the wrong unit.
_LARGEST_FIELD: Final = 20.0


@dataclass(frozen=True, eq=False)
class FieldProfile:
    """A measured field along the axis."""

    x: FloatArray  #: [m] position along the channel, increasing, shape (points,)
    field: FloatArray  #: [T] field across the width, shape (points,)


def profile_from_text(text: str, *, name: str) -> FieldProfile:
    """Return the profile that a text of two columns holds.

    Parameters
    ----------
    text : str
        Content of the file.
    name : str
        Name of the file, for messages.

    Raises
    ------
    ValueError
        Where the text isn't such a profile; the message names the line and what to write.
    """
    lines = [
        (number, line.split("#", 1)[0].strip())
        for number, line in enumerate(text.lstrip("\ufeff").splitlines(), start=1)
    ]
    lines = [(number, line) for number, line in lines if line]
    if not lines:
        raise ValueError(
            f"{name} is empty; expected a first line such as 'x [mm], field [T]' and numbers below"
        )
    x_scale, field_scale, swapped = _header(lines[0][1], where=f"{name}, line {lines[0][0]}")
    rows = np.array(
        [_row(line, where=f"{name}, line {number}") for number, line in lines[1:]], dtype=np.float64
    ).reshape(-1, 2)
    if swapped:
        rows = rows[:, ::-1]
    return _profile(rows[:, 0] * x_scale, rows[:, 1] * field_scale, name=name)


def _header(line: str, *, where: str) -> tuple[float, float, bool]:
    """Scales of x and field, and whether the field stands first."""
    matches = [_COLUMN.fullmatch(part) for part in re.split(r"[,;\t]|(?<=[\])])\s+", line) if part.strip()]
    columns = [(match[1].lower() == "x", match[2]) for match in matches if match]
    if len(matches) != 2 or len(columns) != 2 or columns[0][0] == columns[1][0]:
        raise ValueError(f"{where}: expected the columns' names and units, 'x [mm], field [T]'; got '{line}'")
    swapped = not columns[0][0]
    (_, x_unit), (_, field_unit) = reversed(columns) if swapped else columns
    for unit, known, what in ((x_unit, _LENGTH_UNITS, "x"), (field_unit, _FIELD_UNITS, "the field")):
        if unit not in known:
            raise ValueError(f"{where}: unit '{unit}' of {what} is not one of {', '.join(known)}")
    return _LENGTH_UNITS[x_unit], _FIELD_UNITS[field_unit], swapped


def _row(line: str, *, where: str) -> tuple[float, float]:
    parts = re.split(r"\s*[,;\t]\s*|\s+", line)
    if len(parts) == 4 or (";" in line and "," in line):
        raise ValueError(
            f"{where}: two numbers expected, with a decimal point and no comma in them; got '{line}'"
        )
    if len(parts) != 2:
        raise ValueError(f"{where}: two numbers expected, got '{line}'")
    try:
        x, field = float(parts[0]), float(parts[1])
    except ValueError:
        raise ValueError(f"{where}: two numbers expected, got '{line}'") from None
    if not (math.isfinite(x) and math.isfinite(field)):
        raise ValueError(f"{where}: both numbers must be finite, got '{line}'")
    return x, field


def _profile(x: FloatArray, field: FloatArray, *, name: str) -> FieldProfile:
    if len(x) < _FEWEST_POINTS:
        raise ValueError(f"{name} holds {len(x)} points; at least {_FEWEST_POINTS} make a profile")
    if x[0] > x[-1]:
        x, field = x[::-1], field[::-1]
    step = np.diff(x)
    if np.any(step <= 0.0):
        at = x[int(np.argmax(step <= 0.0)) + 1]
        raise ValueError(f"{name}: x must run in one direction without repeats; it does not at {at:g} m")
    largest = field[int(np.argmax(np.abs(field)))]
    if abs(largest) > _LARGEST_FIELD:
        raise ValueError(
            f"{name}: a field of {largest:g} T is none of a real magnet; check the unit in line 1"
        )
    if largest < 0.0:
        raise ValueError(
            f"{name}: the field is negative ({largest:g} T at its strongest); a positive current pushes the "
            "gas forward in a positive field, so turn the sign of the column"
        )
    if largest == 0.0:
        raise ValueError(f"{name}: the field is zero everywhere")
    return FieldProfile(np.ascontiguousarray(x), np.ascontiguousarray(field))


def profile_axis_field(profile: FieldProfile, x: ArrayLike) -> FloatArray:
    """Return the measured field at points of the axis, NaN outside the measured stretch [T].

    Parameters
    ----------
    x : array_like
        [m] position along the channel.
    """
    from scipy.interpolate import PchipInterpolator  # loads slowly, and few studies have a measured field

    curve = PchipInterpolator(profile.x, profile.field, extrapolate=False)
    return np.asarray(curve(np.asarray(x, dtype=np.float64)), dtype=np.float64)
