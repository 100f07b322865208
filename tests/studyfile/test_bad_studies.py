import re
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from study.texts import text_named

from explorer import solve
from explorer.studyfile import StudyError, parse_study, read_study
from explorer.studyfile.study import study_of

SECOND = """[electrodes.rear]
        start = "70 mm"
        length = "10 mm"
        voltage_drop = "8 V"
        source = { kind = "supply", voltage = "200 V" }
        [ambient]"""

# What is changed in a study that runs, and what must be said of it.
SLIPS = {
    "unknown key": ("fuel =", "feul =", 'unknown key "gas.feul": did you mean "fuel"?'),
    "unknown key of a pair": ("start =", "begin =", 'unknown key "electrodes.main.begin"'),
    "unknown key of a source": ("voltage = ", "volts = ", "electrodes.main.source.volts"),
    "unknown section": ("[channel]", "[chanel]", 'unknown key "chanel": did you mean "channel"?'),
    "unknown key at the top": ("mode =", 'tilte = "x"\nmode =', 'unknown key "tilte": did you mean "title"?'),
    "missing key": ('throat_diameter = "9 mm"', "", 'missing key "nozzle.throat_diameter"'),
    "missing section": (
        '[nozzle]\n        throat_diameter = "9 mm"\n        discharge_coefficient = 0.98',
        "",
        "nozzle.",
    ),
    "missing mode": ('mode = "acceleration"', "", 'missing key "mode"'),
    "missing fuel": ('fuel = "ethanol"', "", 'missing key "gas.fuel"'),
    "missing magnet": ('field = "0.48 T"', "", 'missing key "magnet.field"'),
    "missing surroundings": (
        'pressure = "1.013 bar"',
        "",
        'missing key "ambient.pressure" (or "ambient.altitude")',
    ),
    "missing voltage": (
        ', voltage = "200 V"',
        "",
        'missing key "electrodes.main.source.voltage": a supply has one',
    ),
    "missing kind": ('kind = "supply", ', "", 'missing key "electrodes.main.source.kind"'),
    "wrong dimension": ('"12 bar"', '"12 mm"', "gas.chamber_pressure: expected a pressure, got 12 mm"),
    "no unit": ('"12 bar"', "12", "gas.chamber_pressure: expected a pressure, got 12 without a unit"),
    "negative size": ('"9 mm"', '"-9 mm"', "nozzle.throat_diameter: must be above 0 mm; got -9 mm"),
    "zero size": ('"90 mm"', '"0 mm"', "channel.length: must be above 0 mm; got 0 mm"),
    "fraction above one": (
        "seed_vaporized = 0.9",
        "seed_vaporized = 1.2",
        "must be between 0 and 1; got 1.2",
    ),
    "percentage above hundred": ('"1.0 %"', '"130 %"', "gas.seed_fraction: must be between 0 % and 100 %"),
    "not a number": (
        "mixture_ratio = 1.8",
        "mixture_ratio = nan",
        "gas.mixture_ratio: nan is not a finite number",
    ),
    "infinity": (
        "mixture_ratio = 1.8",
        "mixture_ratio = inf",
        "gas.mixture_ratio: inf is not a finite number",
    ),
    "wrong kind of value": (
        "mixture_ratio = 1.8",
        "mixture_ratio = [1.8]",
        "gas.mixture_ratio: expected a number",
    ),
    "yes for a number": (
        "mixture_ratio = 1.8",
        "mixture_ratio = true",
        "gas.mixture_ratio: expected a number",
    ),
    "a date": ("mixture_ratio = 1.8", "mixture_ratio = 2020-01-01", "gas.mixture_ratio: expected a number"),
    "pair outside": (
        'length = "60 mm"',
        'length = "80 mm"',
        "electrodes.main ends at 95 mm, outside the channel",
    ),
    "pairs overlapping": ("[ambient]", SECOND, "electrodes.rear overlaps electrodes.main"),
    "pair's name": ("[electrodes.main]", "[electrodes.Main]", "small letters"),
    "no pair": ("[electrodes.main]", "[electrodes]", "electrodes.start"),
    "inlet smaller than throat": ('"9 mm"', '"12 mm"', "smaller than the throat (113.1 mm²)"),
    "unknown fuel": ('"ethanol"', '"etanol"', 'gas.fuel: unknown fuel "etanol": did you mean "ethanol"?'),
    "unheard-of fuel": ('"ethanol"', '"water"', "known: ethanol, methanol"),
    "unknown seed": ('"potassium carbonate"', '"potasium carbonate"', 'did you mean "potassium carbonate"?'),
    "unknown oxidizer": (
        '"oxygen"',
        '"oxigen"',
        'gas.oxidizer: unknown oxidizer "oxigen": did you mean "oxygen"?',
    ),
    "unknown mode": (
        '"acceleration"',
        '"both"',
        'mode: unknown mode "both": known: acceleration, extraction',
    ),
    "source against the mode": ('"supply"', '"load"', 'a load does not fit the mode "acceleration"'),
    "mode against the source": ('"acceleration"', '"extraction"', "a supply does not fit"),
    "arc below drop": ('"8 V"', '"8 V"\narc_voltage = "5 V"', "arc_voltage (5 V) lies below"),
    "two magnets": (
        'field = "0.48 T"',
        'field = "0.48 T"\nprofile = { file = "x.csv" }',
        "give one of field and profile",
    ),
    "two surroundings": ("[ambient]", '[ambient]\naltitude = "20 km"', "not both"),
    "concentration of oxygen": (
        '"oxygen"',
        '"oxygen"\noxidizer_concentration = 0.9',
        'the oxidiser is "oxygen"',
    ),
    "peroxide without concentration": (
        '"oxygen"',
        '"hydrogen peroxide"',
        'missing key "gas.oxidizer_concentration"',
    ),
    "custom without formula": (
        '"ethanol"',
        '"custom"',
        'missing key "gas.custom_fuel.formula": gas.fuel is "custom"',
    ),
    "custom beside a known fuel": (
        "[nozzle]",
        '[gas.custom_fuel]\nformula = "C"\n[nozzle]',
        'gas.fuel is "ethanol"',
    ),
    "soot": ("mixture_ratio = 1.8", "mixture_ratio = 0.3", "less oxygen than carbon"),
    "seed and water are everything": ('"1.0 %"', '"40 %"', "leave no room for propellants"),
    "unknown target": (
        "[ambient]",
        '[target]\nquantity = "trust_gain"\n[ambient]',
        'did you mean "thrust_gain"?',
    ),
    "input as target": ("[ambient]", '[target]\nquantity = "magnet.field"\n[ambient]', "is an input"),
    "requirement's dimension": (
        "[ambient]",
        '[target]\nat_least = "3 V"\n[ambient]',
        "target.at_least: expected a force",
    ),
    "requirement turned round": (
        "[ambient]",
        '[target]\nat_least = "3 N"\nat_most = "2 N"\n[ambient]',
        "at_least must lie below at_most",
    ),
    "chance above one": ("[ambient]", "[target]\nchance = 1.5\n[ambient]", "target.chance"),
    "negative random number": ("[ambient]", "[run]\nrandom_number = -1\n[ambient]", "run.random_number"),
    "text as hours": (
        "[ambient]",
        '[[setup]]\nname = "stand"\nhours = "ten"\n[ambient]',
        "setup[1].hours: input should be a valid number, got ten",
    ),
    "text as random number": ("[ambient]", '[run]\nrandom_number = "one"\n[ambient]', "run.random_number"),
    "decimal comma in TOML": ("mixture_ratio = 1.8", "mixture_ratio = 1,8", "line 6"),
    "unit without quotes": ('"12 bar"', "12 bar", 'in quotes, such as "12 bar"'),
    "key twice": ("seed_water = 1.0", "seed_water = 1.0\nseed_water = 1.1", "line "),
}


@pytest.mark.parametrize(("old", "new", "message"), SLIPS.values(), ids=SLIPS.keys())
def test_slips_are_refused_in_one_or_two_lines(plain: str, old: str, new: str, message: str) -> None:
    assert plain.count(old) >= 1
    with pytest.raises(StudyError) as caught:
        parse_study(plain.replace(old, new, 1))
    assert message in str(caught.value)
    assert str(caught.value).count("\n") <= 1


@pytest.mark.parametrize(
    "section", ["gas", "nozzle", "channel", "magnet", "electrodes", "ambient", "target", "run"]
)
@pytest.mark.parametrize("wrong", ["3", '"text"', "[1, 2]", "true"])
def test_a_value_in_place_of_a_section_is_refused(section: str, wrong: str) -> None:
    with pytest.raises(StudyError) as caught:
        parse_study(f'mode = "acceleration"\n{section} = {wrong}\n')
    assert str(caught.value).count("\n") <= 1


def test_formulas_are_checked_against_the_elements_of_the_species_data(plain: str) -> None:
    custom = '"custom"\ncustom_fuel = {{ formula = "{}", enthalpy_of_formation = "0 kJ/mol" }}'
    for formula, message in (("C2H6Si", "Si"), ("KC2", "alkali"), ("", "text"), ("c2h6", "formula")):
        with pytest.raises(StudyError, match=r"gas.custom_fuel.formula") as caught:
            parse_study(plain.replace('"ethanol"', custom.format(formula)))
        assert message in str(caught.value)


PULSED = {
    "a coil in extraction": (
        ("coil", '"acceleration"', '"extraction"'),
        'a coil does not fit the mode "extraction", which takes a load',
    ),
    "a coil with a negative energy": (
        ("coil", '"60 mJ"', '"-60 mJ"'),
        "energy: must be between 0 mJ and 10000 mJ",
    ),
    "a coil with an absurd energy": (
        ("coil", '"60 mJ"', '"60 MJ"'),
        "source.energy: must be between 0 mJ and",
    ),
    "a coil with an absurd rate": (("coil", '"100 Hz"', '"1 GHz"'), "source.rate: must be between 0 Hz and"),
    "points where striking is taken for granted": (
        ("plain", 'voltage_drop = "8 V"', 'voltage_drop = "8 V"\nshape = "points"'),
        'electrodes.main.shape" does not fit: with stated layers and a supply or load striking is taken for granted',
    ),
    "a trace of nothing": (
        ("traced", '"1 ppm"', '"0 ppm"'),
        "gas.trace_alkali: must be between 0.01 ppm and 100 ppm",
    ),
    "a trace beside a seed": (
        ("plain", "nozzle_lag = 0.8", 'nozzle_lag = 0.8\ntrace_alkali = "1 ppm"'),
        "does not fit: the gas is seeded with potassium carbonate",
    ),
    "a coil without an inductance": (
        ("coil", 'inductance = "40 H", ', ""),
        'source.inductance": a coil has one',
    ),
    "a coil with a current limit": (
        ("coil", 'rate = "100 Hz"', 'rate = "100 Hz", current_limit = "1 A"'),
        "a coil has no current limit",
    ),
    "a supply with a peak voltage": (
        ("plain", 'resistance = "0.1 ohm" }', 'resistance = "0.1 ohm", peak_voltage = "40 kV" }'),
        "a supply has no peak voltage",
    ),
    "a glow on a supply": (
        ("layers", 'work_function = "2.4 eV"', 'work_function = "2.4 eV"\nglow_fall = "300 V"'),
        "the pair's source is a supply; glow_fall is for a coil or a capacitor",
    ),
    "a capacitor that lasts as long as a firing of no length": (
        ("capacitor", 'rate = "20 Hz", ', ""),
        'missing key "gas.burn_time" (or "electrodes.main.source.rate")',
    ),
    "a rate without a charger": (
        ("capacitor", ', charger_power = "1 kW"', ""),
        'charger_power": a capacitor with a rate is charged again between pulses',
    ),
}


@pytest.mark.parametrize("slip", PULSED)
def test_a_pulsed_source_that_can_t_be_is_refused_in_a_sentence(slip: str) -> None:
    (name, old, new), said = PULSED[slip]
    text = text_named(name)
    assert old in text
    with pytest.raises(StudyError, match=re.escape(said)):
        parse_study(text.replace(old, new, 1))


def test_a_charger_that_can_t_keep_the_rate_is_refused_with_the_power_that_it_takes() -> None:
    weak = parse_study(text_named("capacitor").replace('charger_power = "1 kW"', 'charger_power = "50 W"'))
    with pytest.raises(StudyError, match=r"50 W can't keep the rate, whose pulses take [0-9.]+ k?W:"):
        solve(weak)


def test_a_load_has_no_voltage_and_needs_a_resistance(plain: str) -> None:
    extraction = plain.replace('"acceleration"', '"extraction"').replace('"supply"', '"load"')
    with pytest.raises(StudyError, match="a load has no voltage"):
        parse_study(extraction.replace('voltage = "200 V"', 'resistance = "2 ohm", voltage = "200 V"'))
    with pytest.raises(StudyError, match="a load has one"):
        parse_study(extraction.replace(', voltage = "200 V"', ""))


def test_files_that_cannot_be_read_are_named(tmp_path: Path) -> None:
    with pytest.raises(StudyError, match=r"nowhere.toml: no such file"):
        read_study(tmp_path / "nowhere.toml")
    with pytest.raises(StudyError, match="cannot be read"):
        read_study(tmp_path)
    (tmp_path / "latin.toml").write_bytes('mode = "acceleration"\ntitle = "Prüfstand"'.encode("latin-1"))
    with pytest.raises(StudyError, match=r"latin.toml: not UTF-8 \(line 2\)"):
        read_study(tmp_path / "latin.toml")
    (tmp_path / "empty.toml").write_text("")
    with pytest.raises(StudyError, match="missing key"):
        read_study(tmp_path / "empty.toml")
    (tmp_path / "broken.toml").write_text('mode = "acceleration"\n[gas\n')
    with pytest.raises(StudyError, match=r"broken.toml: not TOML, line 2"):
        read_study(tmp_path / "broken.toml")


def test_a_byte_order_mark_is_no_reason_to_refuse(tmp_path: Path, plain: str) -> None:
    (tmp_path / "study.toml").write_text(plain, encoding="utf-8-sig")
    assert read_study(tmp_path / "study.toml").mode == "acceleration"


VALUES = st.recursive(
    st.one_of(
        st.floats(), st.integers(), st.booleans(), st.text(max_size=6).map(lambda t: t.replace("\\", ""))
    ),
    lambda inner: st.one_of(
        st.lists(inner, max_size=3),
        st.dictionaries(st.sampled_from(["field", "gas", "main", "source"]), inner, max_size=2),
    ),
    max_leaves=5,
)


@given(
    st.dictionaries(
        st.sampled_from(
            [
                "title",
                "mode",
                "gas",
                "nozzle",
                "channel",
                "magnet",
                "electrodes",
                "exit",
                "ambient",
                "target",
                "run",
                "correlation",
                "model_error",
                "instrument",
                "setup",
                "measurement",
                "decision",
                "nonsense",
            ]
        ),
        VALUES,
        max_size=4,
    )
)
def test_no_document_whatever_ends_in_anything_but_a_study_error(document: dict) -> None:
    with pytest.raises(StudyError) as caught:
        study_of(document, None, {})
    assert str(caught.value).count("\n") <= 1
