from pathlib import Path

import pytest

STUDIES = Path(__file__).parents[1] / "studies"


@pytest.fixture(scope="session")
def bench() -> str:
    return (STUDIES / "bench.toml").read_text(encoding="utf-8").partition("[vary]")[0]


@pytest.fixture(scope="session")
def plain() -> str:
    """A study without uncertain values."""
    return """
        mode = "acceleration"
        [gas]
        fuel = "ethanol"
        oxidizer = "oxygen"
        mixture_ratio = 1.8
        seed = "potassium carbonate"
        seed_fraction = "1.0 %"
        seed_water = 1.0
        seed_vaporized = 0.9
        chamber_pressure = "12 bar"
        combustion_efficiency = 0.95
        [nozzle]
        throat_diameter = "9 mm"
        discharge_coefficient = 0.98
        [channel]
        length = "90 mm"
        gap_in = "11 mm"
        gap_out = "12.5 mm"
        width_in = "10 mm"
        width_out = "10.5 mm"
        wall_temperature = "700 K"
        friction_coefficient = 0.005
        [magnet]
        field = "0.48 T"
        [electrodes.main]
        start = "15 mm"
        length = "60 mm"
        voltage_drop = "8 V"
        source = { kind = "supply", voltage = "200 V" }
        [ambient]
        pressure = "1.013 bar"
    """
