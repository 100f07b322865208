"""What is printed can be shown by whatever it is printed on."""

import pytest

from explorer.cli.terminal import showable


@pytest.mark.parametrize("encoding", ["ascii", "latin-1", "cp1252", "cp437", "utf-8"])
def test_every_character_can_be_encoded(encoding: str) -> None:
    showable("½·ṁ·u² ± σ₁ Δp ∫ q P dx ≥ 40 °C … █░ ö 漢", encoding).encode(encoding)


def test_only_what_cannot_be_shown_is_spelled_out() -> None:
    assert showable("5 ± 1 µm² σ", "latin-1") == "5 ± 1 µm² sigma"
    assert showable("5 ± 1 µm² σ", "utf-8") == "5 ± 1 µm² σ"
    assert showable("ṁ u² × σ", "ascii") == "m u^2 x sigma"
