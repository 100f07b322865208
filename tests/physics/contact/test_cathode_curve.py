"""The cathode's table against its law, for electrons that lag and for those that don't."""

import numpy as np
import pytest
from physics.contact.test_cathode import BENCH

from explorer import constants as c
from explorer.physics.contact.cathode import Cathode, limited_current
from explorer.physics.contact.cathode_curve import CURVE_NODES, cathode_curve, limited


def curve(cathode):
    voltages, densities = np.empty(CURVE_NODES), np.empty(CURVE_NODES)
    cathode_curve(cathode, voltages, densities)
    return voltages, densities


@pytest.mark.parametrize("driving", [5.0, 20.0, 60.0, 150.0, 400.0])
@pytest.mark.parametrize("lag", [0.0, 0.01, 0.5, 1.0, 2.0])
def test_a_curve_limits_as_the_law_does(driving, lag):
    """Within 3 % down to no lag at all, where the sheath takes the whole layer and Child's law alone is left."""
    cathode = Cathode(BENCH._replace(electron_lag=lag), 4.6 * c.e, 1.0)
    found, _ = limited(driving, 5e-3, 0.5, *curve(cathode))
    assert found == pytest.approx(float(limited_current(cathode, driving, 5e-3, 0.5)[0]), rel=0.03)


@pytest.mark.parametrize("wall_temperature", [450.0, 1000.0, 1800.0, 2200.0])
def test_a_curve_rises_in_voltage_and_in_current(wall_temperature):
    """Whatever the wall emits; ten times fewer electrons need nodes nearer the core."""
    for density in (1e18, 0.92e20):
        layer = BENCH._replace(wall_temperature=wall_temperature, core_density=density)
        voltages, densities = curve(Cathode(layer, 3.0 * c.e, 1.0))
        assert (np.diff(voltages) > 0.0).all()
        assert (np.diff(densities) >= 0.0).all()
        assert voltages[-1] >= 100.0
