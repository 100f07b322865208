"""What every command says in short, as the golden files hold it: forty lines, verdict first, no address."""

import re
from pathlib import Path

import pytest

from explorer import registry
from explorer.page.brief import MOST_LINES, WIDTH, brief, in_words
from explorer.page.document import Table
from explorer.page.text import text_of

SAID = Path(__file__).parents[1] / "goldens" / "said"

#: Lines that a terminal shows behind the short answer: a blank one and the files.
FILES = 2

VERDICT = re.compile(
    r"[Mm]et|pays?\b|No ladder|Before |Proposed|Larger|Smaller|No difference|No operating point|One firing|"
    r"[Nn]o current|doesn't pay|Nothing|changes the thrust|in one firing|delivers|No design|no length|first 8|"
    r"lists no instrument|Not told apart|19 times in 20"
)
BANNED = ("wish", "Nature's", "hangs most", "Really", "Don't bother", "whose: yours", "e-0", "^2", "-0.0000")
DEMO = (
    *("solve-bench", "solve-two-pair", "solve-extraction", "propagate-bench", "rank-bench", "rank-paid"),
    *("compare-two", "flight-demo", "scale-demo", "optimize-bench"),
)


def short_answer(name: str) -> list[str]:
    text = (SAID / f"{name}.txt").read_text(encoding="utf-8")
    after = re.search(r"(?m)^=== \S*answer\.txt\n((?:(?!=== ).*\n)*)", text)
    assert after is not None
    return after[1].rstrip().splitlines()


@pytest.mark.parametrize("name", DEMO)
def test_a_short_answer_is_short_and_leads_with_its_verdict(name: str) -> None:
    lines = short_answer(name)
    assert len(lines) + FILES <= MOST_LINES
    assert VERDICT.search("\n".join(lines[:5]))


@pytest.mark.parametrize("name", DEMO)
def test_a_short_answer_speaks_in_words(name: str) -> None:
    text = "\n".join(short_answer(name))
    addresses = {
        quantity.address for quantity in (*registry.INPUTS, *registry.OUTPUTS) if "_" in quantity.address
    }
    assert not [word for word in re.findall(r"[a-z][a-z0-9_.]*_[a-z0-9_]+", text) if word in addresses]
    assert not [word for word in BANNED if word in text]


def test_words_stand_for_addresses_and_nothing_else() -> None:
    said = in_words("thrust_gain of drop_sweep: raise electrodes.main.source.voltage, chance.constricted")
    assert said == "Thrust gain of drop_sweep: raise source voltage of the main pair, constricted"


def test_a_narrow_terminal_gets_lines_instead_of_a_table() -> None:
    table = Table((("thrust_gain", "0.0431 N", "2.8e-05 N"),), ("", "value", "error"))
    text = text_of(brief([], "Solve", verdict=["Met."], numbers=table), 50)
    assert max(map(len, text.splitlines())) <= 50 < WIDTH
    assert "    value: 0.0431 N\n    error: 2.8 × 10⁻⁵ N" in text
