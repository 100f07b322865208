"""A short answer is put together in one order, and quantities have words."""

from explorer import registry
from explorer.page.brief import WIDTH, brief
from explorer.page.document import Table
from explorer.page.text import text_of


def test_words_stand_for_addresses_and_nothing_else() -> None:
    words = {
        "thrust_gain": "thrust gain",
        "drop_sweep": "drop_sweep",
        "electrodes.main.source.voltage": "source voltage of the main pair",
        "electrodes.main.source.kind": "source of the main pair",
        "chance.constricted": "constricted",
        "chance.electrodes.main.arc": "an arc at the main pair",
        "two-pair: electrodes.rear.arc_voltage": "two-pair: arc voltage of the rear pair",
        "gas.nozzle_lag of all like bench": "nozzle lag of all like bench",
        "the model itself: thrust_gain": "the model itself: thrust gain",
        "magnet.field = 0.6 T; channel.gap_in = 12 mm": "magnetic field = 0.6 T; gap at the inlet = 12 mm",
    }
    assert {address: registry.words_of(address) for address in words} == words


def test_a_narrow_terminal_gets_lines_instead_of_a_table() -> None:
    table = Table((("thrust_gain", "0.0431 N", "2.8e-05 N"),), ("", "value", "error"))
    text = text_of(brief([], "Solve", verdict=["Met."], numbers=table), 50)
    assert max(map(len, text.splitlines())) <= 50 < WIDTH
    assert "    value: 0.0431 N\n    error: 2.8 × 10⁻⁵ N" in text
