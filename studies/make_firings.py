"""Invents the demo's firings, bench-season-one.csv and bench-fitted-firings.csv: `python studies/make_firings.py`.

Nobody fired these. They come from the stage model at hidden truths, with what scatters from firing to firing, the
instruments' noise, an ammeter that reads 1.5 % too much all the time, and a world in which the current is a little
less than the model has it, the more the higher the voltage. In one firing the seed line gave less than a third of its
flow and nobody was sure; before the last the electrodes had burnt back by 0.6 mm, which was noticed.
"""

from pathlib import Path

import numpy as np

import explorer

HERE = Path(__file__).parent
STUDY = "bench-fitted.toml"

#: What is true of the stage, SI; the other inputs are at their central values.
TRUTHS = {
    "gas.conductivity_factor": 0.78,
    "gas.nozzle_lag": 0.70,
    "gas.combustion_efficiency": 0.955,
    "gas.seed_vaporized": 0.72,
    "gas.heat_loss_share": 0.6,
    "electrodes.main.voltage_drop": 6.0,
    "electrodes.main.drop_resistance": 0.0075,
    "electrodes.main.arc_voltage": 120.0,
    "electrodes.main.leak_conductance": 0.012,
    "magnet.field": 0.473,
}

#: What falls anew at each firing: one standard uncertainty, SI.
SCATTER = {"gas.mixture_ratio": 0.03, "gas.chamber_pressure": 0.15e5, "magnet.field": 0.01}

#: By how much the ammeter is off, and the world off the model.
AMMETER, WORLD = 1.015, 0.95

#: Noise of a reading: ammeter [A], which follows a discharge that flickers, load cell [N], exit tap [Pa].
NOISE = {"current": 0.25, "thrust_gain": 0.3, "exit_pressure_change": 30.0}

#: Acceleration: name, date, voltages of the steps, what else was so, what was noticed of it.
ACCELERATION = (
    ("A1", "2026-04-11", (1, 100, 150), {}, {}, "first with power put in"),
    ("A2", "2026-04-11", (100, 150), {}, {}, ""),
    ("A3", "2026-04-18", (100, 150), {"gas.seed_fraction": 0.3}, {}, "bubbles in the seed line?"),
    ("A4", "2026-04-18", (80, 150), {}, {}, ""),
    (
        "A5",
        "2026-05-02",
        (100, 150),
        {"electrodes.main.length": 0.99},
        {"electrodes.main.length": 0.0594},
        "burnt back 0.6 mm",
    ),
)
SECONDS = 1.5

#: The fitted study's layers, in place of computed ones: ranges, within which the truth is.
LAYERS = {
    "electrodes.main.layer": "stated",
    "electrodes.main.voltage_drop": "2 .. 15 V",
    "electrodes.main.drop_resistance": "0.001 .. 0.02 ohm m^2",
    "electrodes.main.arc_voltage": "40 .. 150 V",
}

#: Extraction, last season: name, date, load [ohm].
EXTRACTION = (("E1", "2025-09-20", 15.0), ("E2", "2025-09-20", 6.0), ("E3", "2025-10-04", 2.0))


def truth(rng: np.random.Generator, study: explorer.Study, factors: dict[str, float]) -> dict[str, float]:
    """What is true of one firing."""
    values = study.central() | {
        address: value for address, value in TRUTHS.items() if address in study.central()
    }
    values |= {address: values[address] + sigma * rng.standard_normal() for address, sigma in SCATTER.items()}
    return values | {address: values[address] * factor for address, factor in factors.items()}


def read(
    rng: np.random.Generator, study: explorer.Study, values: dict[str, float], voltage: float
) -> dict[str, float]:
    """What the instruments say of one step."""
    uncertain = {item.address for item in study.space.inputs}
    given = {address: [value] for address, value in values.items() if address in uncertain}
    exact = {a: f"{v!r} m" for a, v in values.items() if a == "electrodes.main.length"}
    noise = NOISE | ({"current": 0.05} if voltage == 0.0 else {})  # no discharge, no flicker
    found = explorer.solve_many(study.replaced(exact), given, quantities=list(NOISE)).iloc[0]
    less = 1.0 - (1.0 - WORLD) * voltage / 150.0
    return {
        quantity: float(found[quantity]) * less * (AMMETER if quantity == "current" else 1.0)
        + sigma * rng.standard_normal()
        for quantity, sigma in noise.items()
    }


def acceleration(rng: np.random.Generator) -> str:
    """The firings with power put in, as comma-separated values."""
    head = "name,date,study,step,seconds,electrodes.main.source.voltage [V],electrodes.main.length [mm]"
    lines = [f"{head},current [A],current ±,thrust_gain [N],exit_pressure_change [mbar],note"]
    for name, date, voltages, factors, noticed, note in ACCELERATION:
        study = explorer.read_study(HERE / STUDY)
        values = truth(rng, study, factors)
        for number, voltage in enumerate(voltages, 1):
            here = explorer.read_study(HERE / STUDY, {"electrodes.main.source.voltage": f"{voltage} V"})
            got = read(rng, here, values, voltage)
            length = f"{1e3 * noticed['electrodes.main.length']:g}" if noticed else ""
            step = "off" if voltage == 1 else f"at_{voltage}_V"
            readings = f"{got['current']:.2f},0.25 A,{got['thrust_gain']:.2f},{got['exit_pressure_change'] / 100:.3f}"
            said = note if number == 1 else ""
            lines.append(
                f"{name},{date},bench-fitted,{step},{SECONDS:g},{voltage},{length},{readings},{said}"
            )
    return "\n".join(lines) + "\n"


def extraction(rng: np.random.Generator) -> str:
    """Last season's firings as a spreadsheet saves them where decimals have a comma."""
    lines = [
        "name;date;mode;electrodes.main.source.resistance [ohm];current [A];current ±;current instrument;note"
    ]
    for name, date, load in EXTRACTION:
        resistance = {"electrodes.main.source.resistance": f"{load} ohm"}
        study = explorer.read_study(HERE / "bench-extraction.toml", LAYERS | resistance)
        got = read(rng, study, truth(rng, study, {}), 0.0)
        current = f"{got['current']:.3f}".replace(".", ",")
        lines.append(f"{name};{date};extraction;{load:g};{current};0,05 A;ammeter;")
    return "\ufeff" + "\r\n".join(lines) + "\r\n"


if __name__ == "__main__":
    generator = np.random.default_rng(20260502)
    (HERE / "bench-season-one.csv").write_text(extraction(generator), encoding="utf-8", newline="")
    (HERE / "bench-fitted-firings.csv").write_text(acceleration(generator), encoding="utf-8", newline="")
