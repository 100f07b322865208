"""Two stages of an invented make, one twice as large, whose gas table is built in a moment."""

from study.known_models import study_of
from study.texts import PLAIN

from explorer.questions.scale.entry import scale
from explorer.questions.scale.scaling import Scaling
from explorer.studyfile import Study

WATER = {"median": 1, "factor": 1.8, "shared": "water cross section"}
UNSURE = {
    "gas.conductivity_factor": WATER,
    "electrodes.main.voltage_drop": "2 .. 15 V",
    "channel.wall_temperature": {"value": "800 K", "unknown": "60 K", "scatter": "40 K"},
    "magnet.field": "0.48 ± 0.015 T",
}
SMALL = {"electrodes.main.source.voltage": "150 V", "electrodes.main.source.current_limit": "50 A"}
LARGE = {
    "nozzle.throat_diameter": "27 mm",
    "channel.length": "270 mm",
    "channel.gap_in": "33 mm",
    "channel.gap_out": "37.5 mm",
    "channel.width_in": "30 mm",
    "channel.width_out": "31.5 mm",
    "electrodes.main.start": "45 mm",
    "electrodes.main.length": "180 mm",
    "electrodes.main.source.voltage": "300 V",
    "electrodes.main.source.current_limit": "150 A",
    "target.at_least": "1 N",
}
READ = """
[model_error]
thrust_gain = "10 %"
current = "15 %"
shared = "60 %"

[[instrument]]
name = "load_cell"
reads = "thrust_gain"
random = "0.1 N"
common = "0.5 % of reading"
range = "0 .. 200 N"

[[instrument]]
name = "ammeter"
reads = "current"
random = "0.05 A"
common = "1 % of reading"
range = "-60 .. 60 A"
"""


def titled(title: str) -> str:
    """The text of a plain study with another title."""
    return PLAIN.replace("Invented, for tests", title)


def small_and_large(**inputs: object) -> tuple[Study, Study]:
    """Both stages; the smaller one has instruments."""
    small = study_of({**UNSURE, **SMALL, **inputs}, READ, titled("small"))
    return small, study_of({**UNSURE, **LARGE, **inputs}, READ, titled("large"))


def scaled(
    steps: int = 4, samples: int = 2048, cost_exponent: float = 2.0, rng: int = 1, **inputs: object
) -> Scaling:
    """The way from the smaller one to the larger one."""
    return scale(
        *small_and_large(**inputs), steps=steps, samples=samples, cost_exponent=cost_exponent, rng=rng
    )
