"""Stages with their gas tables: the demo studies at central values, and invented ones that stress the solver."""

from stage.stages import BENCH, LOAD, design_and_values, tables_over, with_pairs

from explorer import registry
from explorer.stage.evaluate import evaluate
from explorer.stage.outputs.points import Points
from explorer.stage.outputs.quantities import output
from explorer.study.engine import Stage
from explorer.studyfile import read_study

STUDIES = ("bench", "bench-extraction", "sounding", "two-pair")

STRONG = {  # everything large: kilowatts into a hundred newtons
    **BENCH,
    "magnet.field": 1.2,
    "gas.conductivity_factor": 2.0,
    "electrodes.main.drop_resistance": 0.001,
    "electrodes.main.layout": "segmented",
    "electrodes.main.source.voltage": 200.0,
}

TWO_PAIRS = with_pairs(
    STRONG,
    front={"start": 0.01, "length": 0.03},
    back={"start": 0.05, "length": 0.03, "source.voltage": 90.0, "layout": "continuous"},
)


def study_case(name):
    """Design, central values and table of a demo study."""
    study = read_study(f"tests/studies/{name}.toml")
    central = study.central()
    stage = Stage(study, (), samples=central, at_samples_only=True)
    return stage.design, central, stage.tables


def point_case(inputs):
    """Design, values and table of a stage."""
    return *design_and_values(inputs), tables_over([inputs])


CASES = {
    **{f"study {name}": lambda name=name: study_case(name) for name in STUDIES},
    "strong": lambda: point_case(STRONG),
    "load": lambda: point_case(LOAD),
    "two pairs": lambda: point_case(TWO_PAIRS),
    "no contact": lambda: point_case({**BENCH, "electrodes.main.source.voltage": 12.0}),
}


def printed(design, values, table, **steps):
    """Every output of one point [SI] by address, and its status."""
    points = Points(design, values, evaluate(design, values, table, heater=True, **steps))
    addresses = registry.outputs_of(pair.name for pair in design.pairs)
    found = {address: float(output(points, address)[0]) for address in addresses}
    return {"status": registry.STATUSES[int(points.outcomes[0])].name, **found}
