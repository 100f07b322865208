"""Would the instruments see it: the effect of switching the power on against what each instrument can tell."""

from collections.abc import Mapping, Sequence
from typing import Final

import numpy as np
import pandas as pd

from explorer.studyfile import Instrument, Study

#: How many standard uncertainties an effect must reach to count as seen (19 times in 20).
SEEN: Final[float] = 2.0

#: Outputs whose change by the power is another output.
CHANGE_OF: Final[Mapping[str, str]] = {
    "thrust": "thrust_gain",
    "exit_pressure": "exit_pressure_change",
}

#: Outputs that are the change itself, or nothing without power; by their last name.
OWN_CHANGE: Final[frozenset[str]] = frozenset(
    {
        "thrust_gain",
        "thrust_gain_heating",
        "exit_pressure_change",
        "current",
        "plasma_current",
        "leak_current",
        "electrical_power",
        "power_delivered",
        "gas_power",
        "joule_heating",
        "electrode_drop_power",
        "lorentz_force",
    }
)

#: Of these, the ones for which a reading is a difference already (power on less power off).
_DIFFERENCES: Final[frozenset[str]] = frozenset({"thrust_gain", "exit_pressure_change"})

#: What an instrument carries that reads a change: a load cell bears the whole thrust.
CARRIED: Final[Mapping[str, str]] = {"thrust_gain": "thrust"}


def change_quantity(reads: str, mode: str) -> str | None:
    """The output that tells how a reading changes when the power comes on."""
    if reads in CHANGE_OF:
        return CHANGE_OF[reads]
    name = reads.rpartition(".")[2]
    across_load = mode == "extraction" and name == "terminal_voltage"
    return reads if across_load or name in OWN_CHANGE else None


def visibility(
    study: Study,
    effects: Mapping[str, tuple[float, float]],
    levels: Mapping[str, float] | None = None,
) -> pd.DataFrame:
    """Each instrument against the effect that it should show."""
    rows = {
        instrument.name: _row(
            instrument,
            effects.get(change_quantity(instrument.reads, study.mode) or ""),
            (levels or {}).get(instrument.reads),
        )
        for instrument in study.instruments
    }
    columns: Sequence[str] = (
        "reads",
        "effect",
        "effect_uncertainty",
        "random",
        "common",
        "ratio",
        "pairs",
    )
    return pd.DataFrame.from_dict(rows, orient="index", columns=list(columns))


def _row(
    instrument: Instrument, effect: tuple[float, float] | None, level: float | None
) -> dict[str, object]:
    if effect is None:
        gone = dict.fromkeys(("effect", "effect_uncertainty", "random", "common", "ratio", "pairs"), np.nan)
        return {"reads": instrument.reads, **gone}
    size, spread = effect
    readings = 1.0 if instrument.reads.rpartition(".")[2] in _DIFFERENCES else np.sqrt(2.0)
    random = instrument.random.at(size if level is None else level) * readings
    # What on and off have in common cancels in their difference; of the common part a share of the effect is left.
    common = abs(instrument.common.relative * size)
    room = (size / SEEN) ** 2 - common**2
    pairs = float(np.ceil(random**2 / room)) if room > 0 else np.inf
    return {
        "reads": instrument.reads,
        "effect": size,
        "effect_uncertainty": spread,
        "random": float(random),
        "common": float(common),
        "ratio": float(abs(size) / np.hypot(random, common)) if random or common else np.inf,
        "pairs": max(pairs, 1.0),
    }
