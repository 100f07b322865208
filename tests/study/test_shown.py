"""Results show themselves: a short table with units, as text and as HTML, nothing in it taken for markup."""

from dataclasses import dataclass

from explorer.study.shown import Shown, Summary, scale_of


@dataclass(frozen=True, repr=False)
class Result(Shown):
    value: float

    def _summary(self) -> Summary:
        cells = scale_of("magnet.field").text(self.value), "a <b>"
        return Summary('Of "bench"', ("", "field", "note"), (("magnet.field", *cells), ("y", "2", "")))


def test_the_text_is_a_title_and_aligned_columns() -> None:
    assert repr(Result(0.48)) == (
        'Of "bench"\n                field   note\n  magnet.field  0.48 T  a <b>\n  y             2'
    )


def test_the_html_escapes_what_it_shows() -> None:
    html = Result(0.48)._repr_html_()
    assert "<td>0.48 T</td><td>a &lt;b&gt;</td>" in html
    assert html.count("<tr>") == 3


def test_what_a_callable_gives_is_shown_as_it_is() -> None:
    assert scale_of("y").span(1.0, 2.5) == "1 and 2.5"
