"""Stages to test with: the invented bench stage, the frozen random points, and how to solve one of them."""

import json
from pathlib import Path

import numpy as np

from explorer import registry, run
from explorer.physics import compounds
from explorer.stage.design import Design, Pair
from explorer.stage.evaluate import GAP_STEPS, evaluate
from explorer.stage.gas.propellants import Propellants
from explorer.stage.outputs.limits import warning_bits
from explorer.stage.outputs.points import Points
from explorer.stage.outputs.quantities import output

FROZEN_FILE = Path(__file__).parents[1] / "reference/slow_reference_points.json"

#: The invented bench stage, SI by address, words where a study has words.
BENCH = {
    "gas.fuel": "ethanol",
    "gas.oxidizer": "oxygen",
    "gas.mixture_ratio": 1.95,
    "gas.seed": "potassium carbonate",
    "gas.seed_fraction": 0.01,
    "gas.seed_water": 1.075,
    "gas.seed_vaporized": 0.8,
    "gas.chamber_pressure": 12e5,
    "gas.combustion_efficiency": 0.96,
    "gas.conductivity_factor": 1.0,
    "gas.nozzle_lag": 0.8,
    "nozzle.throat_diameter": 9e-3,
    "nozzle.discharge_coefficient": 0.965,
    "channel.length": 0.09,
    "channel.gap_in": 11e-3,
    "channel.gap_out": 12.5e-3,
    "channel.width_in": 10e-3,
    "channel.width_out": 10.5e-3,
    "channel.wall_temperature": 800.0,
    "channel.friction_coefficient": 0.0045,
    "channel.heat_transfer_factor": 1.1,
    "magnet.field": 0.48,
    "electrodes.main.start": 0.015,
    "electrodes.main.length": 0.06,
    "electrodes.main.layout": "continuous",
    "electrodes.main.voltage_drop": 8.0,
    "electrodes.main.drop_resistance": 0.005,
    "electrodes.main.arc_voltage": 100.0,
    "electrodes.main.leak_conductance": 0.01,
    "electrodes.main.source.kind": "supply",
    "electrodes.main.source.voltage": 150.0,
    "electrodes.main.source.current_limit": 50.0,
    "electrodes.main.source.resistance": 0.1,
    "exit.area_ratio": 1.3,
    "ambient.pressure": 101325.0,
}

#: The same into a load, in a field strong enough for contact.
LOAD = {
    **{key: value for key, value in BENCH.items() if not key.startswith("electrodes.main.source.")},
    "magnet.field": 1.0,
    "electrodes.main.source.kind": "load",
    "electrodes.main.source.resistance": 5.0,
}

_ABSENT = {
    "drop_resistance": 0.0,
    "arc_voltage": np.inf,
    "leak_conductance": 0.0,
    "end_spread": 0.0,
    "source.current_limit": np.inf,
}

#: What a study says of masses where it says nothing.
MASSES = {
    q.address: q.default for q in registry.INPUTS if q.address.startswith("mass.") and q.default is not None
}


def with_pairs(inputs, **pairs):
    """The stage with its one pair replaced by several like it, each with its own changes."""
    kept = {key: value for key, value in inputs.items() if not key.startswith("electrodes.")}
    main = {
        key.removeprefix("electrodes.main."): v for key, v in inputs.items() if key.startswith("electrodes.")
    }
    for name, changes in pairs.items():
        kept.update({f"electrodes.{name}.{key}": value for key, value in {**main, **changes}.items()})
    return kept


def pair_names(inputs):
    """Pairs from inlet to outlet."""
    names = {address.split(".")[1] for address in inputs if address.startswith("electrodes.")}
    return sorted(names, key=lambda name: inputs[f"electrodes.{name}.start"])


def design_and_values(inputs):
    """The design and the numbers of a stage."""
    propellants = Propellants(
        compounds.FUELS[inputs["gas.fuel"]],
        compounds.OXIDIZERS[inputs["gas.oxidizer"]],
        compounds.SEEDS[inputs["gas.seed"]],
    )
    names = pair_names(inputs)
    pairs = tuple(
        Pair(
            name,
            inputs[f"electrodes.{name}.layout"] == "segmented",
            inputs[f"electrodes.{name}.source.kind"] == "supply",
            inputs.get(f"electrodes.{name}.layer") == "computed",
            inputs.get(f"electrodes.{name}.struck") == "yes",
            inputs.get(f"electrodes.{name}.material"),
            kind if (kind := inputs[f"electrodes.{name}.source.kind"]) in registry.PULSED_SOURCES else None,
        )
        for name in names
    )
    values = {f"electrodes.{name}.{key}": value for name in names for key, value in _ABSENT.items()}
    values |= MASSES
    values["gas.heat_loss_share"] = 1.0
    values |= {address: value for address, value in inputs.items() if not isinstance(value, str)}
    return Design(propellants, pairs, "uniform"), values


def ranges_over(stages):
    """Lowest and highest value of every input over several stages."""
    all_values = [design_and_values(inputs)[1] for inputs in stages]
    return {
        address: (min(v[address] for v in all_values), max(v[address] for v in all_values))
        for address in set.intersection(*(set(v) for v in all_values))
    }


def tables_over(stages, *, jobs=1):
    """The gas tables that serve several stages with the same propellants."""
    return run.Tables(design_and_values(stages[0])[0], ranges_over(stages), jobs=jobs)


def solved(inputs, *, tables=None, gap_steps=GAP_STEPS, pair_steps=None):
    """Every output of a stage [SI] by address, its status, and the codes of its warnings."""
    design, values = design_and_values(inputs)
    given = evaluate(
        design,
        values,
        tables_over([inputs]) if tables is None else tables,
        heater=True,
        gap_steps=gap_steps,
        pair_steps=pair_steps,
    )
    points = Points(design, values, given)
    found = {
        address: float(output(points, address)[0])
        for address in registry.outputs_of(pair.name for pair in design.pairs)
    }
    bits = int(warning_bits(points, None)[0])
    warnings = {code for code, bit in registry.WARNING_BITS.items() if bits & bit}
    return {"status": registry.STATUSES[int(given.outcomes[0])].name, "warnings": warnings, **found}


def frozen_points():
    """Random points with what the slow reference gave for them: (inputs, outputs)."""
    frozen = json.loads(FROZEN_FILE.read_text(encoding="utf-8"))
    return [(point["inputs"], point["outputs"]) for point in frozen["points"]]
