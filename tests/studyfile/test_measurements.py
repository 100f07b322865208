import math

import pytest

from explorer.studyfile import Amount, Study, StudyError, parse_study

INSTRUMENTS = """
[[instrument]]
name = "ammeter"
reads = "current"
random = "0.05 A"
common = "1 % of reading"
rate = "10 kHz"
range = "-60 .. 60 A"
[[setup]]
name = "hot_stand"
hours = 6
"""


def study(plain: str, more: str) -> Study:
    return parse_study(plain.replace('field = "0.48 T"', 'field = "0.48 ± 0.02 T"') + INSTRUMENTS + more)


def measurement(plain: str, lines: str) -> Study:
    return study(plain, f'[[measurement]]\nname = "test"\nhours = 2\n{lines}\n')


def test_instruments_are_read_in_si(plain: str) -> None:
    ammeter = study(plain, "").instruments[0]
    assert ammeter.random == Amount(absolute=0.05)
    assert ammeter.common == Amount(relative=0.01)
    assert (ammeter.rate, ammeter.bandwidth, ammeter.range) == (10e3, None, (-60.0, 60.0))
    assert ammeter.common.at(-9.0) == pytest.approx(0.09)


@pytest.mark.parametrize(
    ("written", "expected"),
    [
        ("0.3 N", Amount(0.3)),
        ("1 %", Amount(0.0, 0.01)),
        ("1 % of reading", Amount(0.0, 0.01)),
        ("0.3 N + 1 % of reading", Amount(0.3, 0.01)),
        ("0.6 N (k=2)", Amount(0.3)),
        ("0.6 N (k=2) + 2 % of reading (k=2)", Amount(0.3, 0.01)),
        ("30 mN", Amount(0.03)),
    ],
)
def test_uncertainties_of_instruments(plain: str, written: str, expected: Amount) -> None:
    more = f'[[instrument]]\nname = "cell"\nreads = "thrust"\nrandom = "{written}"\n'
    found = study(plain, more).instruments[1].random
    assert (found.absolute, found.relative) == pytest.approx((expected.absolute, expected.relative))
    assert found.at(10.0) == pytest.approx(math.hypot(expected.absolute, 10 * expected.relative))


def test_a_measurement_pins_inputs_observes_outputs_and_has_settings(plain: str) -> None:
    found = measurement(
        plain,
        """setup = "hot_stand"
        repeats = 3
        pins = { "magnet.field" = { random = "2 mT", common = "4 mT" } }
        observes = { current = "ammeter", threshold_voltage = "1 V" }
        settings = { "electrodes.main.source.voltage" = "40 V" }""",
    ).measurements[0]
    assert (found.hours, found.repeats, found.setup) == (2.0, 3, "hot_stand")
    assert found.pins["magnet.field"].random == Amount(0.002)
    assert found.pins["magnet.field"].common == Amount(0.004)
    assert found.observes["current"].instrument == "ammeter"
    assert found.observes["threshold_voltage"].random == Amount(1.0)
    assert found.settings == {"electrodes.main.source.voltage": 40.0}


def test_addresses_may_be_written_as_nested_keys_and_instruments_as_a_list(plain: str) -> None:
    found = measurement(
        plain,
        """pins.magnet.field = "2 mT"
        observes = ["ammeter"]
        settings.electrodes.main.source.voltage = "40 V"
        """,
    ).measurements[0]
    assert list(found.pins) == ["magnet.field"]
    assert list(found.observes) == ["current"]
    assert found.settings == {"electrodes.main.source.voltage": 40.0}


@pytest.mark.parametrize(
    ("lines", "message"),
    [
        ("", "neither pins an input nor observes an output"),
        ('pins = { "channel.length" = "1 mm" }', "channel.length has no unknown part"),
        ('pins = { "magnet.feild" = "1 mT" }', 'did you mean "magnet.field"'),
        ('pins = { "magnet.field" = "1 mm" }', "expected a magnetic flux density"),
        ('pins = { "magnet.field" = "0 T" }', "above zero"),
        ('pins = { "magnet.field" = "-1 mT" }', "above zero"),
        ('pins = { "magnet.field" = { radnom = "1 mT" } }', "radnom"),
        ('pins = { "thrust_gain" = "1 N" }', "is an output"),
        ('pins = { "electrodes.rear.length" = "1 mm" }', 'no pair "rear"'),
        ('pins = "magnet.field"', "pins"),
        ('observes = ["ametre"]', "no instrument"),
        ('observes = { "magnet.field" = "1 mT" }', "is an input"),
        ('observes = { thrust = "ammeter" }', "ammeter reads current"),
        ('observes = { inlet_mach = "1 %" }', "two things"),
        ('observes = ["ammeter"]\nsetup = "cold_stand"', 'no setup "cold_stand"'),
        ('observes = ["ammeter"]\nrepeats = 0', "repeats"),
        ('observes = ["ammeter"]\nsettings = { "magnet.field" = "0.4 ± 0.1 T" }', "exact"),
        ('observes = ["ammeter"]\nsettings = { "magnet.field" = "-1 T" }', "0 T or more"),
        ('observes = ["ammeter"]\nsettings = { "ambient.altitude" = "1 km" }', "no such input"),
        ('observes = ["ammeter"]\nspeed = 3', 'unknown key "measurement[1].speed"'),
    ],
)
def test_measurements_that_make_no_sense_are_refused(plain: str, lines: str, message: str) -> None:
    with pytest.raises(StudyError) as caught:
        measurement(plain, lines)
    assert message in str(caught.value)
    assert "\n" not in str(caught.value)


@pytest.mark.parametrize(
    ("more", "message"),
    [
        ('[[instrument]]\nname = "ammeter"\nreads = "current"\nrandom = "1 A"\n', "stands twice"),
        ('[[instrument]]\nname = "Ammeter 2"\nreads = "current"\nrandom = "1 A"\n', "small letters"),
        ('[[instrument]]\nname = "cell"\nreads = "trust"\nrandom = "1 N"\n', 'did you mean "thrust"'),
        ('[[instrument]]\nname = "cell"\nreads = "thrust"\n', "needs its uncertainty"),
        ('[[instrument]]\nname = "cell"\nreads = "thrust"\nrandom = "1 V"\n', "expected a force"),
        (
            '[[instrument]]\nname = "cell"\nreads = "thrust"\nrandom = "1 N"\nrate = "3 m"\n',
            "expected a rate",
        ),
        (
            '[[instrument]]\nname = "cell"\nreads = "thrust"\nrandom = "1 N"\nrange = "9 N"\n',
            "expected a range",
        ),
        ('[[instrument]]\nname = "cell"\nreads = "thrust"\nrandom = "1 N"\nrange = "9 .. 1 N"\n', "below"),
        ('[[setup]]\nname = "hot_stand"\nhours = 1\n', "stands twice"),
        ('[[setup]]\nname = "other"\nhours = -1\n', "hours"),
        ('[model_error]\ntrust = "10 %"\n', 'did you mean "thrust"'),
        ('[model_error]\nthrust = "-10 %"\n', "above 0 %"),
        ('[model_error]\nthrust = "10 N"\n', "expected a plain number"),
        ("[model_error]\nshared = 1.5\n", "between 0 % and 100 %"),
        ("[decision]\ngain_if_met = 3\n", 'missing key "decision.loss_if_not"'),
        ('[[correlation]]\nbetween = ["magnet.field"]\nrank = 0.5\n', "between"),
        (
            '[[correlation]]\nbetween = ["magnet.field", "gas.mixture_ratio"]\nrank = 0.5\n',
            "is not uncertain",
        ),
        ('[[correlation]]\nbetween = ["magnet.field", "gas.mixture_ratoi"]\nrank = 0.5\n', "did you mean"),
        ('[[correlation]]\nbetween = ["magnet.field", "magnet.field"]\nrank = 0.5\n', "itself"),
        ('[[correlation]]\nbetween = ["magnet.field", "magnet.field"]\nrank = 1.5\n', "rank"),
    ],
)
def test_sections_that_make_no_sense_are_refused(plain: str, more: str, message: str) -> None:
    with pytest.raises(StudyError) as caught:
        study(plain, more)
    assert message in str(caught.value)
    assert "\n" not in str(caught.value)


def test_the_models_error_is_the_studys_or_assumed_and_says_which(plain: str) -> None:
    error = study(plain, '[model_error]\ncurrent = "12 %"\nshared = "60 %"\n').model_error
    assert (error.of("current").relative, error.of("current").origin) == (0.12, "yours")
    assert error.of("electrodes.main.current").relative == 0.12
    assert (error.of("thrust_gain").relative, error.of("thrust_gain").origin) == (0.1, "assumed")
    assert (error.shared, error.shared_origin) == (0.6, "yours")
    assert study(plain, "").model_error.shared_origin == "assumed"


def test_with_several_pairs_what_does_not_add_is_asked_for_pair_by_pair(plain: str) -> None:
    rear = """[electrodes.rear]
        start = "78 mm"
        length = "10 mm"
        voltage_drop = "8 V"
        source = { kind = "supply", voltage = "200 V" }
        [target]
        quantity = "QUANTITY"
        """
    for quantity in ("current", "electrodes.rear.back_emf", "thrust_gain"):
        assert parse_study(plain + rear.replace("QUANTITY", quantity)).target.quantity == quantity
    with pytest.raises(StudyError, match=r"electrodes\.main\.back_emf"):
        parse_study(plain + rear.replace("QUANTITY", "back_emf"))


def test_pay_offs_of_a_decision_are_kept(plain: str) -> None:
    text = '[decision]\ngain_if_met = 10\nloss_if_not = 4\ncost_per_hour = 0.1\nunit = "points"\nhours = 12\n'
    decision = study(plain, text).decision
    assert decision is not None
    assert (decision.gain_if_met, decision.loss_if_not, decision.unit, decision.hours) == (
        10.0,
        4.0,
        "points",
        12.0,
    )
    assert study(plain, "").decision is None


def test_a_stated_correlation_reaches_the_space(plain: str) -> None:
    text = plain.replace('gap_in = "11 mm"', 'gap_in = "11.0 ± 0.1 mm"')
    text = text.replace('gap_out = "12.5 mm"', 'gap_out = "12.5 ± 0.1 mm"')
    text += '[[correlation]]\nbetween = ["channel.gap_in", "channel.gap_out"]\nrank = 0.8\n'
    found = parse_study(text)
    assert found.space.score_correlations[0, 1] == pytest.approx(2 * math.sin(math.pi * 0.8 / 6))
    left = found.replaced({"channel.gap_in": "11 mm"})
    assert not left.space.correlated
    assert any("left out" in note for note in left.notes)
