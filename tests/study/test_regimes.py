"""Borders between regimes: on which side points lie, which pair counts, when two designs are parted by one."""

import numpy as np
import pytest
from questions.optimize.known_designs import VOLT, WALL, known
from scipy import stats
from study.known_models import study_of

from explorer import compare, registry
from explorer.run import Evaluated
from explorer.stage.outputs import limits
from explorer.study.regimes import REGIMES, parting, sides_of

BY_NAME = {regime.name: regime for regime in REGIMES}


def found(quantities: dict[str, float] | None = None, *, warning: str = "", status: int = 0) -> Evaluated:
    """64 equal points in each of 8 repeats."""
    shape = (8, 64)
    bits = registry.WARNING_BITS.get(warning, 0)
    values = {name: np.full(shape, value) for name, value in (quantities or {}).items()}
    everything = {"load_factor": 2.0, "voltage_drop_share": 0.1, "wall_heat_share": 0.1}
    plain = {regime.quantity: 0.0 for regime in REGIMES if not regime.is_chance} | everything
    return Evaluated(
        {name: np.full(shape, value) for name, value in plain.items()} | values,
        np.full(shape, status, np.int8),
        np.full(shape, bits, np.uint32),
    )


def shares(*designs: Evaluated) -> dict[str, list[float]]:
    sides = sides_of(designs, [("main",)] * len(designs))
    return {name: [float(own[name].share) for own in sides] for name in sides[0]}


@pytest.mark.parametrize(
    ("name", "quantity", "border"),
    [
        ("Hall field", "max_hall_field", 4e3),  # 40 V per cm, DTIC ADA025949, 1975
        ("current density", "max_current_density", 1e4),  # 1 A/cm², common practice, no source
        ("overheating", "overheating_number", 0.5),
        ("interaction", "interaction_parameter", 0.1),
        ("strong interaction", "interaction_parameter", 1.0),
    ],
)
def test_a_quantity_lies_past_its_border_above_it_and_not_below(
    name: str, quantity: str, border: float
) -> None:
    below, above = found({quantity: 0.999 * border}), found({quantity: 1.001 * border})
    assert shares(below, above)[name] == [0.0, 1.0]


def test_borders_that_warnings_have_too_are_the_warnings() -> None:
    assert BY_NAME["current density"].threshold == limits.DIFFUSE_LIMIT
    assert BY_NAME["overheating"].threshold == limits.OVERHEATING_LIMIT
    assert BY_NAME["Hall field"].threshold == limits.WALL_FIELD_LIMIT


@pytest.mark.parametrize(("load_factor", "past"), [(3.1, True), (2.9, False), (-1.1, True), (0.1, False)])
def test_the_voltage_drop_is_held_against_what_drives_the_current(load_factor: float, past: bool) -> None:
    # Drop = u B g; what drives the current is |V − u B g| = |K − 1| u B g.
    design = found({"voltage_drop_share": 1.0, "load_factor": load_factor})
    assert shares(design, design)["voltage drop"] == [past, past]


def test_wall_heat_is_held_against_half_of_the_first_designs() -> None:
    designs = [found({"wall_heat_share": share}) for share in (0.2, 0.11, 0.09)]
    assert shares(*designs)["wall heat"] == [0.0, 0.0, 1.0]
    assert shares(*designs[::-1])["wall heat"] == [0.0, 0.0, 0.0]


@pytest.mark.parametrize(
    ("name", "past"),
    [
        ("contact", found(status=1)),
        ("constriction", found(warning="constricted")),
        ("separation", found(warning="separation")),
    ],
)
def test_what_is_found_or_not_is_its_own_border(name: str, past: Evaluated) -> None:
    assert shares(found(), past)[name] == [0.0, 1.0]


def test_of_several_pairs_the_one_furthest_past_the_border_counts() -> None:
    pairs = ("front", "rear")
    shape = (8, 64)

    def of(front: float, rear: float, quantity: str):
        values = {
            f"electrodes.{pair}.{quantity}": np.full(shape, x)
            for pair, x in zip(pairs, (front, rear), strict=True)
        }
        return Evaluated(values, np.zeros(shape, np.int8), np.zeros(shape, np.uint32))

    hall = BY_NAME["Hall field"]
    assert hall.addresses(pairs) == ("electrodes.front.max_hall_field", "electrodes.rear.max_hall_field")
    assert (hall.values(of(1e3, 5e3, "max_hall_field"), pairs) == 5e3).all()
    assert (hall.values(of(5e3, 1e3, "max_hall_field"), pairs) == 5e3).all()
    assert BY_NAME["wall heat"].addresses(pairs) == ("wall_heat_share",)


def test_only_points_with_numbers_are_asked_and_a_design_without_any_cannot_be_told() -> None:
    told = shares(found({"max_hall_field": np.nan}, status=2), found({"max_hall_field": 5e3}))
    assert np.isnan(told["Hall field"][0])
    assert told["Hall field"][1] == 1.0


def test_designs_are_parted_by_a_border_that_a_tenth_of_their_firings_lie_on_other_sides_of(
    monkeypatch,
) -> None:
    # j ~ N(1e4 A/m² + shift, 1e3 A/m²): 50 % and Φ(shift/1e3) of firings above 1 A/cm², without model error.
    known(monkeypatch, {"max_current_density": lambda v: 1e4 + 100.0 * (v[WALL] - 800.0)})
    for shift, parted in ((0.2, False), (0.3, True)):
        studies = [study_of({WALL: f"{800 + 10 * s} ± 10 K", VOLT: "150 ± 1 V"}) for s in (0.0, shift)]
        sides = [design.sides for design in compare(studies).designs]
        crossed = {regime.name for regime in parting(sides)}
        assert ("current density" in crossed) is parted
        assert float(sides[1]["current density"].share) == pytest.approx(stats.norm.cdf(shift), abs=2e-3)


def test_every_border_says_what_it_means_and_who_says_so() -> None:
    outputs = {quantity.address for quantity in registry.OUTPUTS}
    assert all(regime.is_chance or regime.quantity in outputs for regime in REGIMES)
    for regime in REGIMES:
        assert regime.sentence.endswith(".")
        assert regime.source
        assert not regime.past.endswith(".")
    assert len(BY_NAME) == len(REGIMES)
