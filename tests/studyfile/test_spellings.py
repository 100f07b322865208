"""What is spelled otherwise elsewhere is answered with the spelling here, ready to paste."""

import re

import pytest

from explorer import registry
from explorer.physics.compounds import FUELS, OXIDIZERS, SEEDS, formula_atoms
from explorer.registry.spellings import LIQUIDS, OTHER_SPELLINGS
from explorer.studyfile import StudyError, parse_study

WORDS = [
    ('oxidizer = "oxygen"', 'oxidizer = "O2"', "gas.oxidizer", 'write "oxygen"'),
    ('oxidizer = "oxygen"', 'oxidizer = "GOX"', "gas.oxidizer", 'write "oxygen"'),
    ('oxidizer = "oxygen"', 'oxidizer = "LOX"', "gas.oxidizer", 'write "oxygen", which is injected as a gas'),
    ('oxidizer = "oxygen"', 'oxidizer = "N2O"', "gas.oxidizer", 'write "nitrous oxide"'),
    ('oxidizer = "oxygen"', 'oxidizer = "Oxygen"', "gas.oxidizer", 'write "oxygen"'),
    ('fuel = "ethanol"', 'fuel = "EtOH"', "gas.fuel", 'write "ethanol"'),
    ('fuel = "ethanol"', 'fuel = "ethyl alcohol"', "gas.fuel", 'write "ethanol"'),
    ('fuel = "ethanol"', 'fuel = "HTPB"', "gas.fuel", 'write "htpb"'),
    ('"potassium carbonate"', '"caesium carbonate"', "gas.seed", 'write "cesium carbonate"'),
    ('"potassium carbonate"', '"K2CO3"', "gas.seed", 'write "potassium carbonate"'),
]


@pytest.mark.parametrize("old,new,address,words", WORDS)
def test_another_spelling_is_answered_with_the_one_here(
    plain: str, old: str, new: str, address: str, words: str
) -> None:
    with pytest.raises(StudyError) as refused:
        parse_study(plain.replace(old, new))
    assert str(refused.value).startswith(f"{address}: ")
    assert words in str(refused.value)
    assert refused.value.address == address


def test_a_fuel_is_not_taken_for_an_oxidizer(plain: str) -> None:
    with pytest.raises(StudyError, match='unknown oxidizer "CH4"'):
        parse_study(plain.replace('oxidizer = "oxygen"', 'oxidizer = "CH4"'))


def test_each_spelling_stands_for_one_substance_that_exists() -> None:
    compounds = {**FUELS, **OXIDIZERS, **SEEDS}
    spelled = [word.casefold() for words in (*OTHER_SPELLINGS.values(), *LIQUIDS.values()) for word in words]
    assert len(spelled) == len(set(spelled))
    names = {item.name for item in (*registry.FUELS, *registry.OXIDIZERS, *registry.SEEDS)}
    assert {*OTHER_SPELLINGS, *LIQUIDS} <= names
    assert all(compounds[name].phase == "gas" for name in LIQUIDS)


FORMULAS = [
    (name, word.lstrip("G"))  # GO2 is gaseous O2
    for name, words in OTHER_SPELLINGS.items()
    for word in words
    if re.fullmatch(r"([A-Z][a-z]?\d*)+", word) and any(map(str.isdigit, word)) and word != "RP1"
]


@pytest.mark.parametrize("name,formula", [item for item in FORMULAS if item[0] != "hydrogen peroxide"])
def test_a_formula_has_the_atoms_of_the_compound_it_stands_for(name: str, formula: str) -> None:
    compound = {**FUELS, **OXIDIZERS, **SEEDS}[name]
    assert compound is not None
    assert compound.formula == formula_atoms(formula)


def test_formulas_are_among_the_spellings() -> None:
    assert {"C2H5OH", "N2O", "K2CO3", "Cs2CO3", "CH4"} <= {formula for _, formula in FORMULAS}


GAUGE = [  # written, and what stands in the answer; NIST SP 811: 1 psi = 6894.757 Pa
    ('"12 barg"', "12 barg is 13.013 bar absolute at the stated ambient pressure of 1.013 bar: write that"),
    ('"12 ± 0.2 bar(g)"', "is 13.013 ± 0.2 bar absolute"),
    ('"11 .. 13 barg"', "is 12.013 .. 14.013 bar absolute"),
    ('"174 psig"', "is 13.01 bar absolute"),
    ('"1200 kPa g"', "is 13.013 bar absolute"),
    ('"12 barg ± 2 %"', "is a gauge pressure, and pressures are absolute here: add the ambient one"),
    ('"13 bara"', 'pressures are absolute here: write "bar", not "bara"'),
]


@pytest.mark.parametrize("written,words", GAUGE)
def test_a_gauge_pressure_is_answered_with_the_absolute_one(plain: str, written: str, words: str) -> None:
    with pytest.raises(StudyError) as refused:
        parse_study(plain.replace('"12 bar"', written))
    assert str(refused.value).startswith("gas.chamber_pressure: ")
    assert words in str(refused.value)


def test_what_is_offered_for_a_gauge_pressure_can_be_pasted(plain: str) -> None:
    study = parse_study(plain.replace('"12 bar"', '"13.013 ± 0.2 bar"'))
    assert study.central()["gas.chamber_pressure"] == pytest.approx(13.013e5)


def test_a_gauge_pressure_at_altitude_counts_from_the_standard_atmosphere(plain: str) -> None:
    high = plain.replace('pressure = "1.013 bar"', 'altitude = "20 km"').replace('"12 bar"', '"12 barg"')
    with pytest.raises(
        StudyError, match=r"12 barg is 12\.055 bar absolute"
    ):  # 54.75 mbar, USSA 1976 at 20 km
        parse_study(high)


def test_the_ambient_pressure_itself_has_no_gauge(plain: str) -> None:
    with pytest.raises(StudyError, match="counts from the ambient pressure itself"):
        parse_study(plain.replace('"1.013 bar"', '"0 barg"'))


@pytest.mark.parametrize("name,means", [("LOX", "oxygen"), ("N2O", "nitrous oxide"), ("n42", "N42")])
def test_another_spelling_is_known_to_the_registry(name: str, means: str) -> None:
    assert registry.entry(name) == registry.entry(means)
