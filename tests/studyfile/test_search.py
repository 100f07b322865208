from pathlib import Path

import pytest

from explorer.studyfile import Limit, Study, StudyError, Varied, Wish, parse_study, read_study

VARY = """
[vary]
"channel.gap_in" = "10 .. 20 mm"
"electrodes.main.source.voltage" = ["150 V", "300 V", "0.45 kV"]
"gas.seed" = ["potassium carbonate", "cesium carbonate"]
"""
SEARCH = f"""{VARY}
[wanted]
quantity = "electrical_power"
make = "smallest"
[[limit]]
quantity = "thrust_gain"
at_least = "0.2 N"
chance = 0.8
[[limit]]
quantity = "chance.constricted"
at_most = "5 %"
"""
BLOCKS = """[magnet.blocks]
        grade = "N42"
        length = "100 mm"
        height = "50 mm"
        thickness = "20 mm"
        spacing = "30 mm"
        """


def study(plain: str, more: str) -> Study:
    return parse_study(plain + more)


def with_blocks(plain: str) -> str:
    return plain.replace('[magnet]\n        field = "0.48 T"', BLOCKS)


def refusal(plain: str, more: str) -> str:
    with pytest.raises(StudyError) as caught:
        study(plain, more)
    message = str(caught.value)
    assert "\n" not in message
    return message


def test_ranges_and_lists_are_read_in_si_in_column_order_with_words_last(plain: str) -> None:
    gap, voltage, seed = study(plain, VARY).vary
    assert gap == Varied("channel.gap_in", 0.01, 0.02)
    assert (voltage.address, voltage.low, voltage.high) == ("electrodes.main.source.voltage", None, None)
    assert voltage.stock == ("150 V", "300 V", "0.45 kV")
    assert voltage.values == (150.0, 300.0, 450.0)
    assert seed.values == ("potassium carbonate", "cesium carbonate")
    assert [item.is_word for item in (gap, voltage, seed)] == [False, False, True]


def test_keys_may_be_nested_and_their_order_changes_nothing(plain: str) -> None:
    nested = """
    [vary.electrodes.main]
    source.voltage = ["150 V", "300 V", "450 V"]
    [vary.gas]
    seed = ["potassium carbonate", "cesium carbonate"]
    [vary.channel]
    gap_in = "10 mm .. 2 cm"
    """
    found = study(plain, nested)
    assert found.study_hash == study(plain, VARY).study_hash
    assert [item.address for item in found.vary] == [item.address for item in study(plain, VARY).vary]


def test_wishes_and_limits_are_read_with_their_chances(plain: str) -> None:
    found = study(plain, SEARCH)
    assert found.wishes == (Wish("electrical_power", "smallest"),)
    assert found.limits == (
        Limit("thrust_gain", at_least=0.2, chance=0.8),
        Limit("chance.constricted", at_most=0.05, chance=None),
    )
    assert [limit.event for limit in found.limits] == [None, "constricted"]
    assert found.limits[0].chance_origin == "yours"


def test_a_limit_without_a_chance_gets_the_assumed_one_and_says_so(plain: str) -> None:
    limit = study(plain, '[[limit]]\nquantity = "thrust_gain"\nat_most = "1 N"\n').limits[0]
    assert (limit.chance, limit.chance_origin) == (0.9, "assumed")
    stated = study(plain, '[[limit]]\nquantity = "thrust_gain"\nat_most = "1 N"\nchance = 0.9\n').limits[0]
    assert (stated.chance, stated.chance_origin) == (0.9, "yours")


def test_two_wishes_stand_in_their_own_order(plain: str) -> None:
    text = (
        '[[wanted]]\nquantity = "thrust_gain"\nmake = "largest"\n'
        '[[wanted]]\nquantity = "chance.constricted"\nmake = "smallest"\n'
    )
    assert study(plain, text).wishes == (
        Wish("thrust_gain", "largest"),
        Wish("chance.constricted", "smallest"),
    )


@pytest.mark.parametrize(
    "event", ["ok", "no_contact", "choked", "outside_table", "not_converged", "separation"]
)
def test_the_chance_of_any_status_or_warning_can_be_limited(plain: str, event: str) -> None:
    text = f'[[limit]]\nquantity = "chance.{event}"\nat_least = 0.1\nat_most = 0.9\n'
    assert study(plain, text).limits == (Limit(f"chance.{event}", 0.1, 0.9, None),)


def test_the_hash_of_a_study_without_a_search_does_not_know_of_searches(plain: str) -> None:
    bare = study(plain, "")
    assert not {"vary", "wishes", "limits"} & bare.as_resolved().keys()
    assert parse_study(f"limit = []\nwanted = []\n{plain}").study_hash == bare.study_hash


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ('"10 .. 20 mm"', '"10 .. 21 mm"'),
        ('"300 V"', '"310 V"'),
        (', "cesium carbonate"', ""),
        ('"smallest"', '"largest"'),
        ('"electrical_power"', '"thrust"'),
        ('"0.2 N"', '"0.3 N"'),
        ("chance = 0.8", "chance = 0.7"),
        ("constricted", "choked"),
        ('"5 %"', '"6 %"'),
    ],
)
def test_each_word_of_a_search_is_in_the_hash(plain: str, old: str, new: str) -> None:
    assert study(plain, SEARCH.replace(old, new)).study_hash != study(plain, SEARCH).study_hash


def test_its_spelling_is_not_in_the_hash(plain: str) -> None:
    respelt = SEARCH.replace('"300 V"', '"0.3 kV"').replace('"10 .. 20 mm"', '"1 .. 2 cm"')
    respelt = respelt.replace('"5 %"', "0.05").replace("[wanted]", "[[wanted]]")
    assert study(plain, respelt).study_hash == study(plain, SEARCH).study_hash


@pytest.mark.parametrize(
    ("lines", "message"),
    [
        ("", "vary: the table is empty"),
        ('"channel.gap_in" = []', "vary.channel.gap_in: the list is empty"),
        ('"channel.gap_in" = "20 .. 10 mm"', "the low end must lie below"),
        ('"channel.gap_in" = "20 .. 20 mm"', "the low end must lie below"),
        ('"channel.gap_in" = "9 mm"', 'expected a range such as "1 .. 2 mm" or a list, got "9 mm"'),
        ('"channel.gap_in" = "9 ± 1 mm"', 'expected a range such as "1 .. 2 mm" or a list'),
        ('"gas.mixture_ratio" = 1.8', 'expected a range such as "1 .. 2" or a list, got 1.8'),
        ('"channel.gap_in" = true', "expected a value"),
        ('"channel.gap_in" = "10 .. 20 V"', "expected a length, got 10 V"),
        ('"channel.gap_in" = "10 .. 20"', "without a unit"),
        ('"channel.gap_in" = ["10 mm", "20 V"]', "expected a length, got 20 V"),
        ('"channel.gap_in" = ["10 mm", "20 ± 1 mm"]', "expected an exact value"),
        ('"channel.gap_in" = ["10 mm", "1 cm"]', 'vary.channel.gap_in: "1 cm" stands twice'),
        ('"channel.gap_in" = "0 .. 20 mm"', "must be above 0 mm; got 0 mm"),
        ('"channel.gap_in" = ["-10 mm"]', "must be above 0 mm; got -10 mm"),
        ('"gas.seed_vaporized" = "0.5 .. 1.2"', "must be between 0 and 1; got 1.2"),
        ('"channel.gap" = "10 .. 20 mm"', 'did you mean "channel.gap_in"?'),
        ('"thrust_gain" = "1 .. 2 N"', 'expected an input, but "thrust_gain" is an output'),
        ('"electrodes.rear.length" = "1 .. 2 mm"', 'the study has no pair "rear" (it has main)'),
        ('"electrodes.rear.layout" = ["segmented"]', 'the study has no pair "rear" (it has main)'),
        ('"gas.seed" = "none .. potassium carbonate"', 'expected a list such as ["potassium carbonate"'),
        ('"gas.seed" = ["potasium carbonate"]', 'did you mean "potassium carbonate"?'),
        ('"gas.seed" = ["none", "none"]', 'vary.gas.seed: "none" stands twice'),
        ('"gas.seed" = ["none", 3]', "vary.gas.seed: expected a word, got 3"),
        ('"gas.seed" = []', "vary.gas.seed: the list is empty"),
        ('mode = ["acceleration", "extraction"]', "vary.mode: cannot be varied"),
        ('"electrodes.main.source.kind" = ["supply"]', "cannot be varied"),
        ('"magnet.profile.file" = ["a.csv"]', "cannot be varied"),
        ('"magnet.blocks.thickness" = "1 .. 2 mm"', "the study states magnet.field in its place"),
        ('"ambient.altitude" = "1 .. 2 km"', "the study states ambient.pressure in its place"),
        ('"gas.custom_fuel.density" = ["800 kg/m^3"]', "this study has no such input"),
        ('"gas.oxidizer_concentration" = ["90 %"]', "this study has no such input"),
        (
            '"gas.fuel" = ["ethanol", "custom"]',
            'vary.gas.fuel: with "custom", missing key "gas.custom_fuel.formula"',
        ),
        ('"channel.gap_in" = "10 .. 20 mm"\nchannel.gap_in = "10 .. 30 mm"', '"channel.gap_in" stands twice'),
    ],
)
def test_what_cannot_be_varied_is_refused_in_one_sentence(plain: str, lines: str, message: str) -> None:
    assert message in refusal(plain, f"[vary]\n{lines}\n")


def test_what_may_not_lie_anywhere_may_be_listed(plain: str) -> None:
    peroxide = plain.replace('"oxygen"', '"hydrogen peroxide"\noxidizer_concentration = "90 %"')
    text = '[vary]\n"gas.oxidizer_concentration" = WRITTEN\n'
    assert study(peroxide, text.replace("WRITTEN", '["85 %", "90 %"]')).vary[0].values == (0.85, 0.9)
    assert "has no range: list what is in stock" in refusal(peroxide, text.replace("WRITTEN", '"80 .. 98 %"'))


def test_grades_are_varied_where_the_study_names_one(plain: str) -> None:
    found = study(with_blocks(plain), '[vary]\nmagnet.blocks.grade = ["N42"]\n')
    assert found.vary[0].values == ("N42",)
    text = '[vary]\n"magnet.blocks.remanence" = "1.2 .. 1.4 T"\n'
    assert "the study states magnet.blocks.grade in its place" in refusal(with_blocks(plain), text)


def test_without_a_seed_its_shares_are_varied_only_together_with_it(plain: str) -> None:
    bare = plain.replace('"potassium carbonate"', '"none"')
    share = '[vary]\n"gas.seed_fraction" = "0.5 .. 1 %"\n'
    assert "vary.gas.seed_fraction: there is no seed" in refusal(bare, share)
    assert len(study(bare, share + '"gas.seed" = ["none", "potassium carbonate"]\n').vary) == 2


def test_an_input_may_be_uncertain_and_varied_if_its_uncertainty_fits(plain: str) -> None:
    uncertain = plain.replace('voltage = "200 V"', 'voltage = "200 ± 5 V"')
    text = '[vary]\n"electrodes.main.source.voltage" = "LOW .. 300 V"\n'
    assert study(uncertain, text.replace("LOW", "100")).vary[0].low == 100.0
    message = refusal(uncertain, text.replace("LOW", "0"))
    assert message.startswith("vary.electrodes.main.source.voltage: at 0 V, 50 % of")
    assert "lies outside what is possible" in message


@pytest.mark.parametrize(
    ("lines", "message"),
    [
        ('[wanted]\nquantity = "thrust_gian"\nmake = "largest"', 'did you mean "thrust_gain"?'),
        ('[wanted]\nquantity = "magnet.field"\nmake = "largest"', "is an input"),
        ('[wanted]\nquantity = "thrust"\nmake = "big"', 'write "smallest" or "largest"; got "big"'),
        ('[wanted]\nquantity = "thrust"', 'missing key "wanted.make"'),
        (
            '[wanted]\nquantity = "thrust"\nmkae = "largest"',
            'unknown key "wanted.mkae": did you mean "make"?',
        ),
        ('[[wanted]]\nquantity = "thrust"\nmkae = "largest"', 'unknown key "wanted[1].mkae"'),
        (
            '[wanted]\nquantity = "chance.arcing"\nmake = "smallest"',
            "is no status, no warning and no form of contact",
        ),
        ("wanted = 3", "wanted"),
    ],
)
def test_wishes_that_make_no_sense_are_refused_in_one_sentence(plain: str, lines: str, message: str) -> None:
    first = "" if lines.startswith("[") else f"{lines}\n"
    with pytest.raises(StudyError) as caught:
        parse_study(first + plain + ("" if first else lines))
    assert message in str(caught.value)
    assert "\n" not in str(caught.value)


def test_the_same_wish_twice_and_three_wishes_are_refused(plain: str) -> None:
    wish = '[[wanted]]\nquantity = "QUANTITY"\nmake = "largest"\n'
    three = "".join(wish.replace("QUANTITY", name) for name in ("thrust", "thrust_gain", "current"))
    assert "at most 2 results" in refusal(plain, three)
    twice = wish.replace("QUANTITY", "thrust")
    assert "wanted: thrust stands twice" in refusal(plain, twice + twice.replace("largest", "smallest"))


@pytest.mark.parametrize(
    ("lines", "message"),
    [
        ('quantity = "thrust_gian"\nat_least = "1 N"', 'limit[1].quantity: "thrust_gian" is not known'),
        ('quantity = "magnet.field"\nat_least = "1 T"', "is an input"),
        ('quantity = "thrust_gain"', "limit[1]: needs at_least or at_most or both"),
        ('quantity = "thrust_gain"\nat_least = "1 V"', "limit[1].at_least: expected a force"),
        ('quantity = "thrust_gain"\nat_least = "1 ± 0.1 N"', "expected an exact value"),
        ('quantity = "thrust_gain"\nat_least = "2 N"\nat_most = "1 N"', "at_least must lie below at_most"),
        ('quantity = "thrust_gain"\nat_least = "2 N"\nchance = 0', "limit[1].chance"),
        ('quantity = "thrust_gain"\nat_least = "2 N"\nchance = 1', "limit[1].chance"),
        ('quantity = "thrust_gain"\nat_least = "2 N"\nchance = 1.5', "limit[1].chance"),
        ('quantity = "thrust_gain"\nat_last = "2 N"', 'unknown key "limit[1].at_last"'),
        ('at_least = "2 N"', 'missing key "limit[1].quantity"'),
        ('quantity = "chance.constricted"\nat_most = 0.05\nchance = 0.9', "is a chance itself"),
        ('quantity = "chance.constricted"\nat_most = 1.05', "must be between 0 % and 100 %"),
        ('quantity = "chance.constricted"\nat_most = -0.05', "must be between 0 % and 100 %"),
        ('quantity = "chance.constricted"\nat_most = "5 N"', "expected a plain number"),
        ('quantity = "chance.constricted"', "needs at_least or at_most"),
        ('quantity = "chance.constrictd"\nat_most = 0.1', 'did you mean "chance.constricted"?'),
        ('quantity = "chance.rain"\nat_most = 0.1', "known: ok, no_contact, choked"),
        ('quantity = "chance."\nat_most = 0.1', "is no status, no warning and no form of contact"),
    ],
)
def test_limits_that_make_no_sense_are_refused_in_one_sentence(plain: str, lines: str, message: str) -> None:
    assert message in refusal(plain, f"[[limit]]\n{lines}\n")


def test_the_same_limit_twice_is_refused_but_not_two_chances_of_one_result(plain: str) -> None:
    limit = '[[limit]]\nquantity = "thrust_gain"\nat_least = "0.2 N"\n'
    assert "limit[2]: this limit on thrust_gain stands twice" in refusal(plain, limit * 2)
    assert "stands twice" in refusal(plain, limit + limit + "chance = 0.9\n")
    softer = limit.replace("0.2", "0.4") + "chance = 0.5\n"
    assert len(study(plain, limit + softer).limits) == 2


def test_with_several_pairs_what_does_not_add_is_named_pair_by_pair(plain: str) -> None:
    rear = """[electrodes.rear]
        start = "78 mm"
        length = "10 mm"
        voltage_drop = "8 V"
        source = { kind = "supply", voltage = "200 V" }
        """
    limit = rear + '[[limit]]\nquantity = "QUANTITY"\nat_most = "WRITTEN"\n'
    for quantity, written in (("current", "1 A"), ("electrodes.rear.back_emf", "9 V")):
        text = limit.replace("QUANTITY", quantity).replace("WRITTEN", written)
        assert study(plain, text).limits[0].quantity == quantity
    text = limit.replace("QUANTITY", "back_emf").replace("WRITTEN", "9 V")
    assert "electrodes.main.back_emf" in refusal(plain, text)
    wanted = rear + '[wanted]\nquantity = "back_emf"\nmake = "largest"\n'
    assert "electrodes.main.back_emf" in refusal(plain, wanted)


def test_limits_and_wishes_stand_without_anything_varied(plain: str) -> None:
    found = study(plain, SEARCH.replace(VARY, ""))
    assert (found.vary, len(found.wishes), len(found.limits)) == ((), 1, 2)


# like another study, and replaced values


@pytest.fixture
def base(tmp_path: Path, plain: str) -> Path:
    (tmp_path / "base.toml").write_text(plain + SEARCH, encoding="utf-8")
    return tmp_path


def like(folder: Path, text: str) -> Study:
    (folder / "child.toml").write_text(f'like = "base.toml"\n{text}', encoding="utf-8")
    return read_study(folder / "child.toml")


def test_a_study_like_another_has_its_search(base: Path) -> None:
    found = like(base, "")
    assert (len(found.vary), len(found.wishes), len(found.limits)) == (3, 1, 2)


def test_a_study_like_another_replaces_each_part_of_its_search_whole(base: Path) -> None:
    varied = like(base, '[vary]\nchannel.gap_out = "10 .. 20 mm"\n')
    assert [item.address for item in varied.vary] == ["channel.gap_out"]
    assert (len(varied.wishes), len(varied.limits)) == (1, 2)
    wanted = like(base, '[[wanted]]\nquantity = "thrust"\nmake = "largest"\n')
    assert wanted.wishes == (Wish("thrust", "largest"),)
    assert len(wanted.vary) == 3
    limited = like(base, '[[limit]]\nquantity = "current"\nat_most = "9 A"\n')
    assert [limit.quantity for limit in limited.limits] == ["current"]


def test_a_study_like_another_can_do_without_its_search(base: Path) -> None:
    found = like(base, "vary = {}\nwanted = []\nlimit = []\n")
    assert (found.vary, found.wishes, found.limits) == ((), (), ())


def test_another_magnet_leaves_a_varied_field_without_object(base: Path, plain: str) -> None:
    (base / "base.toml").write_text(plain + '[vary]\nmagnet.field = "0.3 .. 0.6 T"\n', encoding="utf-8")
    found = like(base, BLOCKS)
    assert found.vary == ()
    assert found.notes == ("magnetic field is no longer varied: the study states magnet.blocks in its place",)
    assert like(base, f"vary = {{}}\n{BLOCKS}").vary == ()


def test_what_is_set_is_no_longer_varied_and_the_rest_is(plain: str) -> None:
    found = study(plain, SEARCH).replaced({"channel.gap_in": "12 mm"})
    assert found.exact["channel.gap_in"] == 0.012
    assert [item.address for item in found.vary] == ["electrodes.main.source.voltage", "gas.seed"]
    assert "gap at the inlet is set, and no longer varied" in found.notes
    assert (len(found.wishes), len(found.limits)) == (1, 2)
    assert found.replaced({"gas.seed": "none"}).vary == found.vary[:1]
    other = study(plain, SEARCH).replaced({"magnet.field": "0.5 ± 0.01 T"})
    assert (len(other.vary), len(other.notes)) == (3, 1)


@pytest.mark.parametrize(
    ("varied", "setting", "message"),
    [
        ("magnet.field = '0.3 .. 0.6 T'", {"magnet.blocks.grade": "N42"}, "states magnet.blocks"),
        ("ambient.pressure = '0.5 .. 1 bar'", {"ambient.altitude": "10 km"}, "states ambient.altitude"),
        ("gas.seed_fraction = '0.5 .. 1 %'", {"gas.seed": "none"}, "there is no seed"),
    ],
)
def test_what_a_setting_leaves_without_object_is_no_longer_varied(
    plain: str, varied: str, setting: dict[str, object], message: str
) -> None:
    sizes = {
        f"magnet.blocks.{key}": f"{size} mm"
        for key, size in (("length", 100), ("height", 50), ("thickness", 20), ("spacing", 30))
    }
    every = setting | (sizes if "magnet.blocks.grade" in setting else {})
    found = parse_study(f"{plain}[vary]\n{varied}\n").replaced(every)
    assert found.vary == ()
    assert any("no longer varied: " in note and message in note for note in found.notes)


@pytest.mark.parametrize(("written", "share"), [("80 %", 0.8), ("0.8", 0.8), ("2.5 percent", 0.025)])
def test_a_share_may_be_written_as_per_cent(plain: str, written: str, share: float) -> None:
    target = f'\n[target]\nchance = "{written}"\nworth = "{written}"\n'
    found = study(plain, SEARCH.replace("chance = 0.8", f'chance = "{written}"') + target)
    assert found.target.chance == found.target.worth == found.limits[0].chance == pytest.approx(share)


@pytest.mark.parametrize("written", ["180 %", "80 m", "a lot", "0.8 ± 0.1"])
def test_what_is_no_share_is_refused(plain: str, written: str) -> None:
    with pytest.raises(StudyError, match=r"target.chance: .*(less than 1|such as 0\.8 or \"80 %\")"):
        study(plain, f'\n[target]\nchance = "{written}"\n')
