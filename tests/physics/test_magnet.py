"""Fields of magnet blocks and measured profiles: rows 23 and 24, a second method, and must-fail twins."""

import tomllib
from pathlib import Path

import magpylib
import numpy as np
import pytest
from scipy.constants import mu_0
from scipy.integrate import dblquad, quad

from explorer.physics.field_profile import profile_axis_field, profile_from_text
from explorer.physics.magnet import (
    GRADES,
    blocks_axis_field,
    remanence_at,
)

REFERENCE_FILE = Path(__file__).parents[1] / "reference/magnet.toml"
REFERENCE = tomllib.loads(REFERENCE_FILE.read_text(encoding="utf-8"))
BLOCK = {key: REFERENCE["block"][key] for key in ("length", "height", "thickness", "remanence")}
UNEVEN = {"length": 0.09, "height": 0.03, "thickness": 0.02, "remanence": 1.25, "spacing": 0.016}


def on_axis_closed_form(distance, *, length, height, thickness, remanence):
    """Textbook field of one block on its magnetisation axis, at a distance from its face."""

    def angle(z):
        return np.arctan(length * height / (2.0 * z * np.sqrt(4.0 * z**2 + length**2 + height**2)))

    return remanence / np.pi * (angle(distance) - angle(distance + thickness))


@pytest.mark.parametrize("index", [0, 1])
def test_a_block_has_the_field_of_the_check_list_in_front_of_its_face(index):
    """Row 23: magpylib and the closed form agree (derived); half of a pair twice as far apart."""
    row = REFERENCE["block"]
    distance, expected = row["distance"][index], row["field"][index]
    pair = blocks_axis_field(0.0, **BLOCK, spacing=2 * distance, middle=0.0, yoke_factor=1.0)
    assert 0.5 * pair == pytest.approx(expected, rel=row["tolerance"])
    assert on_axis_closed_form(distance, **BLOCK) == pytest.approx(expected, rel=row["tolerance"])


def test_an_attracting_pair_has_the_field_of_the_check_list_in_its_middle():
    """Row 23 (derived)."""
    row = REFERENCE["pair"]
    field = blocks_axis_field(0.0, **BLOCK, spacing=row["spacing"], middle=0.0, yoke_factor=1.0)
    assert field == pytest.approx(row["field"], rel=row["tolerance"])


@pytest.mark.parametrize("x", [0.0, 0.02, 0.045, 0.06, -0.1])
def test_the_field_along_the_axis_is_that_of_charged_pole_faces(x):
    """Coulomb's law for magnetic charge, integrated numerically over the four pole faces."""

    def face(z):
        def integrand(yy, xx):
            return z / ((x - xx) ** 2 + yy**2 + z**2) ** 1.5

        a, b = UNEVEN["length"] / 2, UNEVEN["height"] / 2
        return dblquad(integrand, -a, a, -b, b, epsabs=1e-9, epsrel=1e-9)[0] / (4 * np.pi)

    near = UNEVEN["spacing"] / 2
    expected = 2 * UNEVEN["remanence"] * (face(near) - face(near + UNEVEN["thickness"]))
    field = blocks_axis_field(x, **UNEVEN, middle=0.0, yoke_factor=1.0)
    assert field == pytest.approx(expected, rel=1e-6, abs=1e-9)


def test_two_magnets_placed_in_space_give_the_same_field():
    """magpylib's object interface, both blocks placed where they stand."""
    x = np.linspace(-0.05, 0.15, 21)
    z = 0.5 * (UNEVEN["spacing"] + UNEVEN["thickness"])
    size = (UNEVEN["length"], UNEVEN["height"], UNEVEN["thickness"])
    blocks = magpylib.Collection(
        [
            magpylib.magnet.Cuboid(
                polarization=(0, 0, UNEVEN["remanence"]), dimension=size, position=(0.04, 0, side * z)
            )
            for side in (-1, 1)
        ]
    )
    placed = blocks.getB(np.column_stack([x, 0 * x, 0 * x]))
    field = blocks_axis_field(x, **UNEVEN, middle=0.04, yoke_factor=1.0)
    assert field == pytest.approx(placed[:, 2], rel=1e-12)
    assert np.abs(placed[:, :2]).max() < 1e-12


def test_the_field_scales_with_remanence_and_yoke_and_not_with_the_unit_of_length():
    case = {**UNEVEN, "middle": 0.01, "yoke_factor": 1.0}
    field = blocks_axis_field(0.03, **case)
    assert blocks_axis_field(0.03, **{**case, "remanence": 2.5}) == pytest.approx(2.0 * field)
    assert blocks_axis_field(0.03, **{**case, "yoke_factor": 1.2}) == pytest.approx(1.2 * field)
    scaled = {key: 1e3 * case[key] for key in ("length", "height", "thickness", "spacing", "middle")}
    assert blocks_axis_field(30.0, **{**case, **scaled}) == pytest.approx(field)


def test_blocks_that_fill_space_reach_the_remanence():
    """Limit: no gap, far poles out of reach."""
    field = blocks_axis_field(
        0.0,
        remanence=1.3,
        length=1.0,
        height=1.0,
        thickness=1000.0,
        spacing=1e-6,
        middle=0.0,
        yoke_factor=1.0,
    )
    assert field == pytest.approx(1.3, rel=1e-5)


def test_samples_make_rows_and_positions_make_columns():
    rng = np.random.default_rng(1)
    remanence, spacing = rng.uniform(1.2, 1.4, 5), rng.uniform(0.01, 0.03, 5)
    x = np.linspace(0.0, 0.09, 7)
    case = {"length": 0.06, "height": 0.04, "thickness": 0.02, "middle": 0.045, "yoke_factor": 1.0}
    fields = blocks_axis_field(x, **case, remanence=remanence, spacing=spacing)
    assert fields.shape == (5, 7)
    for i in range(5):
        alone = blocks_axis_field(x, **case, remanence=remanence[i], spacing=spacing[i])
        assert fields[i] == pytest.approx(alone, rel=1e-14)


def mean_field_closed_form(*, start, end, remanence, length, height, thickness, spacing, middle, yoke_factor):
    """Mean field on the axis between two positions: the charged pole faces integrated along it."""

    def face(X, z):
        """Integral over X of the pole-face term atan(X b/(z r)), r² = X² + b² + z²."""
        b = 0.5 * height
        r = np.sqrt(X**2 + b**2 + z**2)
        return X * np.arctan(X * b / (z * r)) + z * np.arctanh(b / r)

    total = 0.0
    for z, charge in ((0.5 * spacing, 1.0), (0.5 * spacing + thickness, -1.0)):
        for X, sign in ((end - middle, charge), (start - middle, -charge)):
            total += sign * (face(X + 0.5 * length, z) - face(X - 0.5 * length, z))
    return yoke_factor * remanence / np.pi * total / (end - start)


@pytest.mark.parametrize("spacing", [0.005, 0.016, 0.06])
@pytest.mark.parametrize(("start", "end"), [(0.010, 0.085), (-0.03, 0.12), (0.0, 0.3), (0.2, 0.3)])
def test_the_mean_of_the_field_is_the_integral_of_the_pole_faces(spacing, start, end):
    """Adaptive quadrature of the field, split where the blocks end, against the closed form of its integral."""
    case = {**UNEVEN, "spacing": spacing, "middle": 0.045, "yoke_factor": 1.1}
    edges = [x for x in (0.0, 0.09) if start < x < end]
    area = quad(
        lambda x: float(blocks_axis_field(x, **case)[0]),
        start,
        end,
        points=edges or None,
        limit=500,
        epsabs=1e-12,
        epsrel=1e-11,
    )[0]
    mean = mean_field_closed_form(start=start, end=end, **case)
    assert mean == pytest.approx(area / (end - start), rel=1e-8, abs=1e-10)


@pytest.mark.parametrize("name", ["N42", "N52"])
def test_a_grade_has_the_range_and_the_limit_of_makers(name):
    """Row 24: makers' grade tables (read)."""
    row, grade = REFERENCE["grades"], GRADES[name]
    assert [grade.lowest_remanence, grade.highest_remanence] == row[name]
    assert grade.limit_temperature - 273.15 == pytest.approx(row["limit_celsius"][name])


@pytest.mark.parametrize("name", GRADES)
def test_a_grade_stores_the_energy_that_its_name_says(name):
    """Energy product B_r²/(4 mu_0 mu_rec), named in MGOe; recoil permeability between 1 and 1.05."""
    row, grade = REFERENCE["grades"], GRADES[name]
    B_r = 0.5 * (grade.lowest_remanence + grade.highest_remanence)
    product = B_r**2 / (4 * mu_0 * 1.025) / row["energy_product_unit"]
    assert product == pytest.approx(float(name[1:]), rel=row["energy_product_tolerance"])


def test_a_magnet_at_80_celsius_has_lost_7_per_cent():
    """Row 24: -0.12 %/K from 20 °C; 60 K make 7.2 % by hand."""
    assert remanence_at(293.15, remanence=1.3) == pytest.approx(1.3)
    assert remanence_at(353.15, remanence=1.3) == pytest.approx(1.3 * (1 + 60 * REFERENCE["grades"]["slope"]))
    assert remanence_at(np.array([293.15, 353.15]), remanence=1.0) == pytest.approx([1.0, 0.928])


PROFILE = (
    "x [mm], field [T]\n# gaussmeter, middle of the gap\n0, 0.30\n20, 0.46\n45, 0.50\n70, 0.45\n90, 0.31\n"
)


def test_a_measured_profile_goes_through_its_points_without_overshoot():
    profile = profile_from_text(PROFILE, name="field.csv")
    assert profile_axis_field(profile, [0.0, 0.045, 0.090]) == pytest.approx([0.30, 0.50, 0.31])
    fine = profile_axis_field(profile, np.linspace(0.0, 0.09, 500))
    assert fine.max() <= 0.50
    assert fine.min() >= 0.30
    assert np.isnan(profile_axis_field(profile, [-0.001, 0.091])).all()


@pytest.mark.parametrize(
    "text",
    [
        "field [T], x [mm]\n0.30, 0\n0.46, 20\n0.50, 45\n0.45, 70\n0.31, 90\n",
        "\ufeffx [cm];B [mT]\r\n0;300\r\n2;460\r\n4.5;500\r\n7;450\r\n9;310\r\n",
        "x [mm]\tfield [G]\n90\t3100\n70\t4500\n45\t5000\n20\t4600\n0\t3000\n",
        "\n# by hand\nx (m)  Field (T)\n0  0.30\n0.02  0.46\n\n0.045  0.50 # middle\n0.07 0.45\n9e-2 0.31",
    ],
    ids=["columns swapped", "other units", "backwards", "blanks and comments"],
)
def test_the_same_profile_written_otherwise_reads_the_same(text):
    expected = profile_from_text(PROFILE, name="field.csv")
    profile = profile_from_text(text, name="field.csv")
    assert profile.x == pytest.approx(expected.x, abs=1e-12)
    assert profile.field == pytest.approx(expected.field)


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("", "is empty"),
        ("# nothing\n\n", "is empty"),
        ("0, 0.3\n10, 0.4\n", "line 1: expected the columns"),
        ("x, field\n0, 0.3\n", "line 1: expected the columns"),
        ("x [mm], x [mm]\n0, 0.3\n", "line 1: expected the columns"),
        ("x [mm], field [T], note [-]\n0, 0.3, 1\n", "line 1: expected the columns"),
        ("x [furlong], field [T]\n0, 0.3\n", "unit 'furlong'"),
        ("x [mm], field [A]\n0, 0.3\n", "unit 'A'"),
        ("x [mm], field [T]\n0, 0.3\n10, strong\n", "line 3: two numbers"),
        ("x [mm], field [T]\n0, 0.3\n10\n", "line 3: two numbers"),
        ("x [mm], field [T]\n0, 0.3\n10, 0.4, 0.5\n", "line 3: two numbers"),
        ("x [mm]; field [T]\n0,5; 0,3\n", "line 2: two numbers expected, with a decimal point"),
        ("x [mm], field [T]\n0, nan\n10, 0.4\n", "line 2: both numbers must be finite"),
        ("x [mm], field [T]\n0, 0.3\n10, inf\n", "line 3: both numbers must be finite"),
        ("x [mm], field [T]\n", "0 points"),
        ("x [mm], field [T]\n0, 0.3\n10, 0.4\n", "2 points"),
        ("x [mm], field [T]\n0, 0.3\n10, 0.4\n10, 0.5\n", "one direction"),
        ("x [mm], field [T]\n0, 0.3\n20, 0.4\n10, 0.5\n30, 0.5\n", "does not at 0.01 m"),
        ("x [mm], field [T]\n0, 300\n10, 400\n20, 300\n", "check the unit"),
        ("x [mm], field [T]\n0, -0.3\n10, -0.4\n20, 0.01\n", "turn the sign"),
        ("x [mm], field [T]\n0, 0\n10, 0\n20, 0\n", "zero everywhere"),
    ],
)
def test_a_profile_that_makes_no_sense_is_refused_with_its_place(text, message):
    with pytest.raises(ValueError, match=message):
        profile_from_text(text, name="field.csv")
