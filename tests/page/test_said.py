"""What every command says, in short, at length and on its page, as the golden files hold it: names, units, numbers."""

import re
import tomllib
from pathlib import Path

import pytest
from goldens.cases import cases, studies

from explorer import registry
from explorer.page.brief import MOST_LINES, WIDTH

PROJECT = Path(__file__).parents[2]
SAID = PROJECT / "tests" / "goldens" / "said"
QUESTIONS = ("solve", "propagate", "rank", "optimize", "compare", "scale", "flight")
ANSWERED = [
    name for name, case in cases().items() if case.arguments[0] in QUESTIONS and not name.startswith("refuse")
]

#: Lines that a terminal shows behind the short answer: a blank one and the files.
FILES = 2

#: Heads of columns that hold what is typed.
TYPED = ("key in the study", "set in the study")

#: What is no word of this house, an outcome of a thing, or English that reads as translated.
BANNED = (
    *(
        "wish",
        "Nature",
        "hangs on",
        "hang on",
        "hangs most",
        "Really",
        "really more",
        "Don't bother",
        "don't bother",
    ),
    *("whose: yours", "(yours)", "little below zero", "with less without", "shares nothing", "per cent"),
)

#: Spellings of units and numbers that have another one here.
SPELLED_OTHERWISE = re.compile(
    r"[mAVTs]\^[23]|\b[ck]?m[23]\b|\bdegC|\bΩ|\bsec\b|\d[eE][-+]?\d|(?<![\d.])[-−]0(?:\.0+)?(?![\d.,])"
)

#: Headings of a page behind what is for everyone; first they stand among its contents.
FOR_REVIEWERS = ("For a reviewer", "How it was searched", "How uncertain values were read", "Provenance")

#: Most significant digits of a figure in a sentence.
DIGITS = 3

#: Numbers in sentences that are no figures: counts, years of sources, what is set and so typed with all its digits.
NO_FIGURES = re.compile(
    r"\d+(?= (?:(?:fresh|operating) )?(?:points|scenarios|of them|choked|is usual|were asked)\b)|base \d+|Base \d+|"
    r"\b(?:19|20)\d\d(?=[),;:]|\.(?!\d)| and | to | up )|"
    r"(?:Proposed|The design that misses least|To set at the stand)\b.*?\.(?= |$)|(?:relax|widen) [^.]*? to \d[\d.]*|"
    r"end of its range, \d[\d.]*|now taken as exactly \d[\d.]*"
)

FIGURE = re.compile(r"(?<![\w.,/-])[-+−]?(\d+(?:\.\d+)?)(?: ± (\d+(?:\.\d+)?))?(?![\w.]*\w)")

#: Spellings of words that have another one here; keys, and names of substances as they are typed, keep theirs.
AMERICAN = re.compile(
    r"(?i)(?<![\w.`\"'\[/-])(?:oxidizers?|vaporiz\w*|ioniz\w*|magnetiz\w*|neutraliz\w*|optimiz(?!e\b)\w*|colors?|"
    r"behaviors?|centers?|grays?|(?:kilo|milli|centi)?meters?|liters?|fibers?|aluminum|sulfur|analyz\w*|favor\w*|"
    r"maximiz\w*|minimiz\w*|summariz\w*|recogniz\w*|normaliz\w*|labeled|modeled|traveled|catalogs?)"
    r"(?![\w\"'\]/]| =|\.\w)"
)

VERDICT = re.compile(
    r"[Mm]et\b|pays?\b|[Nn]o ladder|Before |Proposed|Larger|Smaller|No difference|No operating point|One firing|"
    r"[Nn]o current|Nothing|changes the thrust|in one firing|delivers|No design|no length|Status|moves the|"
    r"lists no instrument|Not told apart|19 times in 20|Not decided|in every firing"
)


def _addresses() -> re.Pattern[str]:
    """Every address that is no plain word, a pair's under any pair's name."""
    every = {quantity.address for quantity in (*registry.INPUTS, *registry.OUTPUTS)}
    every |= {quantity.address for quantity in (*registry.FLIGHT_INPUTS, *registry.FLIGHT_OUTPUTS)}
    every |= {choice.address for choice in registry.CHOICES}
    pairs = {address.replace("electrodes.*", "electrodes.main") for address in every}
    patterns = {re.escape(address).replace("main", r"\w+", 1) for address in pairs if address.startswith("e")}
    patterns |= {re.escape(address) for address in pairs if re.search(r"[._]", address)}
    patterns |= {
        rf"electrodes\.\w+\.{quantity.address}" for quantity in registry.OUTPUTS if quantity.per_pair
    }
    return re.compile(
        rf"(?<![\w.-])(?:chance\.\w+|{'|'.join(sorted(patterns, key=len, reverse=True))})(?![\w.-])"
    )


ADDRESS = _addresses()
SET = re.compile(rf"{ADDRESS.pattern}(?= = )")


def _own_names() -> set[str]:
    """Names that the studies give to their instruments and measurements; one is an output's too."""
    names = set()
    for text in studies().values():
        try:
            study = tomllib.loads(text)
        except tomllib.TOMLDecodeError:
            continue
        names |= {own["name"] for key in ("instrument", "measurement") for own in study.get(key, ())}
    return names


OWN = _own_names()


def part(name: str, which: str) -> list[str]:
    """The lines of one part of a golden file: "printed", or a file's name."""
    text = (SAID / f"{name}.txt").read_text(encoding="utf-8")
    found = re.search(rf"(?m)^=== (?:\S*/)?{re.escape(which)}\n((?:(?!=== ).*\n)*)", text)
    return found[1].rstrip().splitlines() if found else []


def spoken(lines: list[str]) -> list[str]:
    """What is told, without columns that hold what is typed, lines to copy, what is set, and files."""
    told, column = [], None
    for line in lines:
        cells = line.split(" | ") if line.startswith("| ") else re.split(r" {2,}", line.strip())
        heads = [place for place, cell in enumerate(cells) if cell.removeprefix("| ") in TYPED]
        if heads:
            column = heads[0]
        elif not line.strip() or (line.startswith("| ") and len(cells) <= (column or 0)):
            column = None
        elif column is not None and column < len(cells) and ADDRESS.match(cells[column].removeprefix("| ")):
            cells[column] = ""
        to_copy = line.strip().startswith(("mhdstage ", "--set "))
        if not (line.startswith("In results/") or to_copy):
            told.append(SET.sub("", " ".join(cells)))
    return told


def addresses_in(lines: list[str]) -> list[str]:
    return [
        f"{found[0]}: {line[:100]}"
        for line in spoken(lines)
        for found in ADDRESS.finditer(line)
        if found[0] not in OWN
    ]


@pytest.mark.parametrize("name", ANSWERED)
def test_a_short_answer_is_short_narrow_and_leads_with_its_verdict(name: str) -> None:
    lines = part(name, "answer.txt")
    if "--set" in cases()[name].arguments or "elementary" in name or not lines:
        pytest.skip("what was set stands above it, before and after; a first look is told whole")
    assert len(lines) + FILES <= MOST_LINES
    assert VERDICT.search("\n".join(lines[:5]))
    assert [line for line in lines if len(line) > WIDTH] == []


@pytest.mark.parametrize("which", ["answer.txt", "printed", "report.html"])
@pytest.mark.parametrize("name", ANSWERED)
def test_what_is_said_has_names_and_one_spelling(name: str, which: str) -> None:
    lines = [line for line in part(name, which) if "--set " not in line]
    assert addresses_in(lines) == []
    text = "\n".join(lines)
    assert [word for word in BANNED if word in text] == []
    assert [line for line in lines if SPELLED_OTHERWISE.search(line) and "hash" not in line] == []


def long_numbers(text: str) -> list[str]:
    """Figures of a sentence with more than three significant digits, beyond what their ± asks for."""
    found = []
    for figure in FIGURE.finditer(NO_FIGURES.sub("", text)):
        value, error = figure.groups()
        few = error is not None and _digits(error) <= 1
        if _digits(value) > DIGITS and not few:
            found.append(f"{figure[0]}: {text[max(figure.start() - 60, 0) :][:140]}")
    return found


def _digits(number: str) -> int:
    whole = number.lstrip("0.")
    return len(whole.replace(".", "") if "." in number else whole.rstrip("0"))


def sentences(name: str, which: str) -> list[str]:
    """What a short answer says, or a page before its reviewer's part, tables left out; a paragraph a text."""
    lines = [line for line in part(name, which) if "mhdstage " not in line and "--set " not in line]
    if which == "report.html":
        last = {line: place for place, line in enumerate(lines) if line.startswith(FOR_REVIEWERS)}
        return [line for line in lines[: min(last.values(), default=0)] if not line.startswith("| ")]
    told, texts = False, [""]
    for line in lines:  # a paragraph is indented by two, a table of a short answer stands behind a blank line
        starts = not line.strip() or line.startswith("! ") or (told and texts[-1].endswith("."))
        texts.append(line.strip()) if starts else texts.append(f"{texts.pop()} {line.strip()}")
        told = True
    return texts


@pytest.mark.parametrize("which", ["answer.txt", "report.html"])
@pytest.mark.parametrize("name", ANSWERED)
def test_figures_in_sentences_have_three_digits_at_most(name: str, which: str) -> None:
    if which == "answer.txt" and "elementary" in name:
        pytest.skip("a first look is told whole, with values as read")
    assert [found for text in sentences(name, which) for found in long_numbers(text)] == []


def test_a_figure_with_four_digits_is_found() -> None:
    """The twin that must fail, and what must not."""
    bad = [
        "It takes 1352 W at",
        "of 91.38 N",
        "27500.5 to 65.1 kW",
        "0.04641 N",
        "12.005 ± 0.30 bar",
        "1.013 bar",
    ]
    assert [len(long_numbers(text)) for text in bad] == [1] * 6
    good = [
        "1.35 kW",
        "1200 K and 65100 N",
        "From 1024 points",
        "(Jansen 1999)",
        "1.0132 ± 0.0002 bar",
        "0.00464",
    ]
    good += [
        "Proposed: length of the main pair 319.9 mm.",
        "ADA025949",
        "relax current at most 5 A to 22.07 A",
    ]
    assert [found for text in good for found in long_numbers(text)] == []


@pytest.mark.parametrize("which", ["answer.txt", "printed", "report.html"])
@pytest.mark.parametrize("name", list(cases()))
def test_words_have_one_spelling(name: str, which: str) -> None:
    assert [line for line in part(name, which) if AMERICAN.search(line) and "hash" not in line] == []


def test_the_registry_and_what_is_written_beside_it_have_one_spelling() -> None:
    every = (*registry.INPUTS, *registry.OUTPUTS, *registry.FLIGHT_INPUTS, *registry.FLIGHT_OUTPUTS)
    texts = [text for quantity in every for text in (quantity.words, quantity.sentence, quantity.sign)]
    texts += [choice.sentence for choice in registry.CHOICES]
    texts += [warning.title + warning.sentence for warning in registry.WARNINGS]
    named = (
        *registry.FUELS,
        *registry.OXIDIZERS,
        *registry.SEEDS,
        *registry.MAGNET_GRADES,
        *registry.STATUSES,
    )
    texts += [f"{own.kind} {own.sentence}" for own in named]
    for file in ("README.md", "DEVELOPERS.md", "studies/KEYS.md"):
        texts += (PROJECT / file).read_text(encoding="utf-8").splitlines()
    assert [text for text in texts if AMERICAN.search(text)] == []


def test_another_spelling_is_found() -> None:
    """The twin that must fail, and what must not: keys, what is typed, and words that only look alike."""
    assert all(AMERICAN.search(text) for text in ("Mass of oxidizer.", "vaporized seed", "a gray bar"))
    good = (
        "oxidizer = ",
        "gas.oxidizer",
        "`oxidizer`",
        "oxidiser",
        "parameter",
        "[gas.custom_oxidizer]",
        "optimize",
    )
    assert not any(AMERICAN.search(text) for text in good)


def test_an_address_in_a_sentence_is_found() -> None:
    """The twin that must fail, and what must not."""
    bad = ["raise thrust_gain", "| electrodes.rear.back_emf [V] | 3", "limit on chance.constricted"]
    assert [len(addresses_in([line])) for line in bad] == [1, 1, 1]
    good = [
        "  key in the study  read as",
        "  magnet.field      19 times",
        "magnet.field = 0.6 T is set",
        "thrust",
    ]
    assert addresses_in(good) == []
    assert all(SPELLED_OTHERWISE.search(text) for text in ("2e-05 N", "1 A/cm^2", "-0.0000", "3 m2"))
    assert not SPELLED_OTHERWISE.search("2.8 × 10⁻⁵ A/cm², -0.05, step 2")
