"""What the numbers of a study must obey together, at central values."""

import math
from collections.abc import Mapping
from typing import Final

from explorer.physics.field_profile import FieldProfile
from explorer.studyfile.error import StudyError

_CLEARANCE: Final[float] = 1e-9  #: by which edges may miss each other through rounding [m]


def check_geometry(
    central: Mapping[str, float], pairs: tuple[str, ...], profile: FieldProfile | None
) -> None:
    """Refuse a geometry or circuit that cannot be."""
    _check_inlet(central)
    length = central["channel.length"]
    if profile is not None and not (profile.x[0] <= _CLEARANCE and profile.x[-1] >= length - _CLEARANCE):
        raise StudyError(
            f"magnet.profile.file: the field was measured from {_mm(profile.x[0])} to {_mm(profile.x[-1])},"
            f" the channel runs from 0 mm to {_mm(length)}",
            "magnet.profile.file",
        )
    end_before, before = 0.0, ""
    for pair in pairs:
        head = f"electrodes.{pair}"
        start = central[f"{head}.start"]
        end = start + central[f"{head}.length"]
        if end > length + _CLEARANCE:
            raise StudyError(
                f"{head} ends at {_mm(end)}, outside the channel of {_mm(length)}", f"{head}.length"
            )
        if before and start < end_before - _CLEARANCE:
            raise StudyError(
                f"{head} overlaps electrodes.{before}: it begins at {_mm(start)}, before the other ends at"
                f" {_mm(end_before)}",
                f"{head}.start",
            )
        if central[f"{head}.arc_voltage"] < central[f"{head}.voltage_drop"]:
            raise StudyError(
                f"{head}.arc_voltage ({central[f'{head}.arc_voltage']:g} V) lies below {head}.voltage_drop"
                f" ({central[f'{head}.voltage_drop']:g} V)",
                f"{head}.arc_voltage",
            )
        end_before, before = end, pair


def _check_inlet(central: Mapping[str, float]) -> None:
    throat = 0.25 * math.pi * central["nozzle.throat_diameter"] ** 2
    inlet = central["channel.gap_in"] * central["channel.width_in"]
    if inlet < throat:
        raise StudyError(
            f"the channel's inlet ({1e6 * inlet:.4g} mm²) is smaller than the throat"
            f" ({1e6 * throat:.4g} mm²): enlarge channel.gap_in or channel.width_in",
            "channel.gap_in",
        )


def _mm(length: float) -> str:
    return f"{1e3 * length:.4g} mm"
