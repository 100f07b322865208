"""What a study says of a pre-ioniser and of relaxing electrons: what fits, and what is refused in one sentence."""

import pytest
from study.texts import study_named, text_named

from explorer.studyfile import StudyError, parse_study


@pytest.fixture
def preionized(tmp_path):
    return study_named("preionized", tmp_path)


def test_a_pre_ioniser_lets_electrons_relax(preionized, tmp_path):
    assert preionized.choices["gas.ionization"] == "relaxing"
    assert "gas.ionization" not in study_named("plain", tmp_path).choices


@pytest.mark.parametrize(
    ("address", "value", "said"),
    [
        ("preionizer.power", "-1 W", "must be 0 W or more"),
        ("preionizer.coupling", "1.2", "between 0 and 1"),
        ("preionizer.pair_energy", "0 eV", "between 3.894 eV and"),
        ("preionizer.pair_energy", "-35 eV", "between 3.894 eV and"),
        ("preionizer.pair_energy", "1e9 eV", "between 3.894 eV and"),
        ("preionizer.length", "0 mm", "above 0 mm"),
        ("preionizer.start", "-1 mm", "0 mm or more"),
        ("preionizer.length", "90 mm", "ends at 93 mm, outside the channel of 90 mm"),
        ("preionizer.start", "76 mm", "begins at 76 mm, downstream of all pairs, which end at 75 mm"),
        ("preionizer.start", "7 mm", "between the electrodes of main (15 mm to 75 mm)"),
        ("gas.recombination_factor", "-1", "0 or more"),
        ("gas.ionization", "equilibrium", "forget a pre-ioniser at once"),
        ("gas.ionization", "frozen", "equilibrium, relaxing"),
        ("nozzle.length", "0 mm", "above 0 mm"),
    ],
)
def test_what_cannot_be_is_refused_in_one_sentence(preionized, address, value, said):
    with pytest.raises(StudyError) as refused:
        preionized.replaced({address: value})
    assert said in str(refused.value)
    assert "\n" not in str(refused.value)


def test_a_pre_ioniser_is_stated_whole(tmp_path):
    text = text_named("preionized").replace("coupling = 0.5\n", "")
    with pytest.raises(StudyError, match=r'missing key "preionizer\.coupling"'):
        parse_study(text, tmp_path)


@pytest.mark.parametrize(
    ("address", "value"),
    [("nozzle.length", "20 mm"), ("electrodes.main.pair_energy", "100 eV")],
)
def test_what_concerns_relaxing_electrons_does_not_fit_equilibrium(tmp_path, address, value):
    plain = study_named("plain", tmp_path)
    with pytest.raises(StudyError, match="equilibrium"):
        plain.replaced({address: value})
    assert plain.replaced({"gas.ionization": "relaxing", address: value}).central()[address] > 0.0
