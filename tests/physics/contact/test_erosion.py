"""Erosion under an arc: worked by hand, limits, and materials against the sources that the table names."""

import numpy as np
import pytest

from explorer import constants as c
from explorer.physics.contact import erosion
from explorer.physics.contact.materials import materials


def test_the_depth_of_a_firing_by_hand():
    """10 A for 6 s, 13.5 µg/C off copper, a quarter of 60 × 10 mm: 810 µg on 1.5 cm², 0.603 µm."""
    area = erosion.root_area(share=0.5, length=0.06, width=0.01)
    assert area == pytest.approx(1.5e-4)
    depth = erosion.depth_per_firing(erosion=13.5e-9, charge_moved=60.0, density=8960.0, area=area)
    assert depth == pytest.approx(6.027e-7, rel=1e-3)
    assert erosion.firings_lasting(allowed_depth=1e-4, depth_per_firing=depth) == pytest.approx(
        165.9, rel=1e-3
    )


def test_nothing_that_comes_off_lasts_for_ever_and_points_are_worked_out_side_by_side():
    found = erosion.firings_lasting(allowed_depth=1e-4, depth_per_firing=np.array([0.0, 1e-6]))
    assert found == pytest.approx([np.inf, 100.0])
    depth = erosion.depth_per_firing(
        erosion=np.array([1e-9, 3e-8]), charge_moved=np.array([[1.0], [2.0]]), density=8960.0, area=1e-4
    )
    assert depth.shape == (2, 2)
    assert depth[1, 1] == pytest.approx(60 * depth[0, 0])


def test_a_root_is_no_larger_than_the_electrode():
    assert erosion.root_area(share=1.0, length=0.06, width=0.01) == pytest.approx(3e-4)
    assert erosion.root_area(share=9.0, length=0.06, width=0.01) == pytest.approx(6e-4)


def test_copper_s_erosion_spans_what_was_measured():
    """Row 26, a prior: 1 to 30 µg/C, with 13.5 in argon and 1 in helium measured."""
    copper = materials()["copper"]
    assert (copper.lowest_erosion, copper.highest_erosion) == pytest.approx((1e-9, 30e-9))
    assert copper.lowest_erosion <= 13.5e-9 <= copper.highest_erosion


@pytest.mark.parametrize(
    ("name", "diffusivity"),
    [("copper", 1.0e-4), ("graphite", 2.0e-5), ("tungsten", 3.7e-5), ("steel", 8.5e-6)],
)
def test_heat_spreads_in_the_materials_as_handbooks_say(name, diffusivity):
    """Thermal diffusivity of hot metal and graphite [m²/s], textbook tables (from memory), within 15 %."""
    m = materials()[name]
    assert m.conductivity / (m.density * m.heat_capacity) == pytest.approx(diffusivity, rel=0.15)


def test_materials_have_sensible_work_functions_and_limits_below_melting():
    """Melting points: copper 1358 K, graphite none (sublimes 3900 K), tungsten 3695 K, steel 1800 K (handbook)."""
    melting = {"copper": 1358.0, "graphite": 3900.0, "tungsten": 3695.0, "steel": 1800.0}
    assert set(materials()) == set(melting)
    for name, m in materials().items():
        assert 300.0 < m.service_limit < melting[name]
        assert 1.0 < m.work_function / c.e < 6.0
        assert 0.0 < m.lowest_erosion < m.highest_erosion
