"""A spark gap as a voltmeter: room air's rule of thumb inside the interval, and how the uncertainties combine."""

import math

import pytest

from explorer.physics.contact.breakdown import OutsideLaw, gap_voltage
from explorer.physics.contact.spark_gap import length_of_voltage, voltage_of_length

ROOM = {"pressure": 101325.0, "temperature": 293.15}


@pytest.mark.parametrize(("distance", "voltage"), [(0.014, 42e3), (0.03, 90e3)])
def test_common_practice_lies_within_15_per_cent_between_plates(distance, voltage):
    """Row 21: 1.4 cm and 42 kV, 3 cm and 90 kV (common practice, no source)."""
    assert voltage_of_length(distance, electrodes="plates", **ROOM).value == pytest.approx(voltage, rel=0.15)
    assert length_of_voltage(voltage, electrodes="plates", **ROOM).value == pytest.approx(distance, rel=0.15)


def test_between_plates_only_the_law_is_unsure_and_between_points_mostly_the_factor():
    """By hand: 6 % at 95 % is 3.06 %; a factor from 0.3 to 0.5 has (0.2/√12)/0.4 = 14.4 %, together 14.8 %."""
    law = gap_voltage(0.014, **ROOM)
    plates = voltage_of_length(0.014, electrodes="plates", **ROOM)
    points = voltage_of_length(0.014, electrodes="points", **ROOM)
    assert plates.value == pytest.approx(law, rel=1e-6)
    assert plates.uncertainty / plates.value == pytest.approx(0.06 / 1.96, rel=0.02)
    assert (plates.low / law, plates.high / law) == pytest.approx((0.94, 1.06), abs=2e-3)
    assert points.value == pytest.approx(0.4 * law, rel=1e-6)
    standard = math.hypot(0.2 / math.sqrt(12) / 0.4, 0.06 / 1.96)
    assert points.uncertainty / points.value == pytest.approx(standard, rel=0.02)


def test_a_voltage_that_may_lie_outside_the_law_has_no_number_but_the_range():
    with pytest.raises(OutsideLaw, match=r"between 3\d\d V and 2\d\d kV"):
        length_of_voltage(340.0, electrodes="plates", **ROOM)
    with pytest.raises(OutsideLaw, match="between"):
        voltage_of_length(2.0, electrodes="plates", **ROOM)
