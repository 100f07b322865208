"""What every command says, in short, at length and on its page, as the golden files hold it: names, units, numbers."""

import re
import tomllib
from pathlib import Path

import pytest
from goldens.cases import cases, studies

from explorer import registry
from explorer.page.brief import MOST_LINES, WIDTH

SAID = Path(__file__).parents[1] / "goldens" / "said"
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
