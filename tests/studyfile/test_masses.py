"""The table [mass] of a study: all may be left out, what does not fit the magnet is refused."""

import pytest

from explorer.studyfile import StudyError, parse_study

BLOCKS = """[magnet.blocks]
        remanence = "1.3 T"
        length = "70 mm"
        height = "40 mm"
        thickness = "30 mm"
        spacing = "24 mm"
"""
FIELD = '[magnet]\n        field = "0.48 T"\n'


def with_masses(text: str, *lines: str) -> str:
    return "\n".join([text, "[mass]", *lines])


def with_blocks(text: str) -> str:
    assert FIELD in text
    return text.replace(FIELD, BLOCKS)


def test_a_study_that_says_nothing_of_masses_has_assumed_ones(plain: str) -> None:
    study = parse_study(plain)
    assert study.central()["mass.electrode_density"] == 8960.0
    assert study.origin["mass.electrode_density"] == "assumed"
    assert "mass.magnet" not in study.central()
    assert "mass.yoke_thickness" not in study.central()  # no blocks that it could go around


def test_a_magnet_of_blocks_has_a_density_and_no_stated_mass(plain: str) -> None:
    study = parse_study(with_blocks(plain))
    assert study.central()["mass.magnet_density"] == 7500.0
    assert study.central()["mass.yoke_thickness"] == 0.0
    assert "mass.magnet" not in study.central()


def test_masses_are_read_with_their_units_and_uncertainties(plain: str) -> None:
    study = parse_study(
        with_masses(
            plain,
            'magnet = "6.2 ± 0.1 kg"',
            'supply_specific_power = "0.5 .. 2 kW/kg"',
            'store_specific_energy = "100 Wh/kg"',
            'powered_time = "2 min"',
        )
    )
    central = study.central()
    assert central["mass.magnet"] == pytest.approx(6.2)
    assert central["mass.supply_specific_power"] == pytest.approx(1250.0)
    assert central["mass.store_specific_energy"] == pytest.approx(360_000.0)
    assert central["mass.powered_time"] == pytest.approx(120.0)
    assert {row.address for row in study.space.rows} == {"mass.magnet", "mass.supply_specific_power"}


@pytest.mark.parametrize("key", ["magnet_density", "yoke_thickness", "yoke_density"])
def test_what_belongs_to_blocks_is_refused_without_them(plain: str, key: str) -> None:
    value = "12 mm" if key == "yoke_thickness" else "7.6 g/cm^3"
    with pytest.raises(StudyError, match=rf"mass\.{key}.*no table \[magnet\.blocks\]: state mass\.magnet"):
        parse_study(with_masses(plain, f'{key} = "{value}"'))
    parse_study(with_masses(with_blocks(plain), f'{key} = "{value}"'))


def test_a_stated_mass_is_refused_beside_blocks(plain: str) -> None:
    with pytest.raises(StudyError, match=r"mass\.magnet.*follows from their size"):
        parse_study(with_masses(with_blocks(plain), 'magnet = "6 kg"'))


@pytest.mark.parametrize(
    ("line", "words"),
    [
        ('magnet = "-1 kg"', "mass.magnet"),
        ('wall_density = "0 kg/m^3"', "mass.wall_density"),
        ('wall_thickness = "-1 mm"', "mass.wall_thickness"),
        ('supply_specific_power = "0 W/kg"', "mass.supply_specific_power"),
        ('supply_specific_power = "100 Wh/kg"', "expected a power per mass"),
        ('store_specific_energy = "1 kW/kg"', "expected an energy per mass"),
        ('powered_time = "-1 s"', "mass.powered_time"),
        ('electrode_thicknes = "5 mm"', 'did you mean "electrode_thickness"'),
    ],
)
def test_what_cannot_be_is_refused(plain: str, line: str, words: str) -> None:
    with pytest.raises(StudyError, match=words):
        parse_study(with_masses(plain, line))
