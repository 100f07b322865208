"""The demo's pages in a browser: on a screen, on a telephone and in print. Each check has a page that fails it."""

import io
from collections.abc import Iterator
from pathlib import Path

import pypdf
import pytest
from page.browser import EXECUTABLE, Browser, browser

from explorer.cli import main
from explorer.page.cautions import cautions
from explorer.page.document import Paragraph, Requirement, Section
from explorer.page.html import page
from explorer.page.requirement import rows

pytestmark = [
    pytest.mark.browser,
    pytest.mark.slow,
    pytest.mark.skipif(EXECUTABLE is None, reason="no Chromium to load pages in"),
]

STUDIES = Path(__file__).parents[1] / "studies"
BENCH, SOUNDING = str(STUDIES / "bench.toml"), str(STUDIES / "sounding.toml")

COMMANDS = {
    "solve": ["solve", BENCH, "--set", "magnet.field=0.6 T"],
    "solve-two-pair": ["solve", str(STUDIES / "two-pair.toml")],
    "propagate": ["propagate", BENCH, "--samples", "1024"],
    "rank": ["rank", BENCH, "--base", "256", "--no-guesses"],
    "optimize": ["optimize", BENCH, "--budget", "60", "--central"],
    "optimize-two-wishes": ["optimize", SOUNDING, "--budget", "60", "--central"],
    "compare": ["compare", BENCH, SOUNDING, "--samples", "1024"],
    "scale": ["scale", BENCH, "--toward", SOUNDING, "--steps", "2", "--samples", "512"],
    "flight": ["flight", SOUNDING, "--samples", "512"],
}

#: On the first screen: the first sentence of the verdict, and the whole picture.
IN_SIGHT = """(() => {
  const strong = document.querySelector(".verdict strong"), drawing = document.querySelector(".shown svg");
  return [strong, drawing].map(part => part ? part.getBoundingClientRect().bottom : Infinity);
})()"""

#: What the slider says at the places of its table's rows.
SLIDER = """(() => {
  const slider = document.querySelector(".requirement input"), said = [];
  for (let place = 0; place <= 200; place += 25) {
    slider.value = place;
    slider.dispatchEvent(new Event("input"));
    said.push(document.querySelector(".requirement output").textContent.split(": chance "));
  }
  return said;
})()"""

TABLE = """[...document.querySelectorAll(".requirement tbody tr")].map(row =>
  [...row.cells].map(cell => cell.textContent.replace(/\\u00a0/g, " ")))"""


@pytest.fixture(scope="module")
def window(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Browser]:
    with browser(tmp_path_factory.mktemp("profile")) as opened:
        yield opened


def too_wide(window: Browser, path: Path, width: int) -> bool:
    window.open(path, width, 800)
    return bool(window.value("document.documentElement.scrollWidth") > width)


def stranded(sheets: list[str], headings: list[str]) -> list[str]:
    """Headings that are the last thing on their sheet, the foot with the page's number apart."""
    found = []
    for sheet in sheets:
        lines = [line.strip() for line in sheet.splitlines() if line.strip()]
        body = [line for line in lines if not line.replace(" ", "").replace("/", "").isdigit()]
        found += [body[-1]] if body and body[-1] in headings else []
    return found


def printed(window: Browser, path: Path) -> tuple[list[str], list[str]]:
    """The text of each sheet, and the headings."""
    window.open(path, 1200, 800)
    sheets = [sheet.extract_text() for sheet in pypdf.PdfReader(io.BytesIO(window.printed())).pages]
    headings = window.value("[...document.querySelectorAll('h2')].map(head => head.textContent)")
    return sheets, headings


def written(path: Path, *sections: Section, more: str = "") -> Path:
    path.write_text(page(sections, {}).replace("</body>", f"{more}</body>"), encoding="utf-8")
    return path


@pytest.mark.parametrize("command", COMMANDS)
def test_a_page_is_read_on_a_screen_on_a_telephone_and_in_print(
    command: str, window: Browser, tmp_path: Path
) -> None:
    assert main([*COMMANDS[command], "--out", str(tmp_path / "out")]) == 0
    path = tmp_path / "out" / "report.html"
    assert not too_wide(window, path, 400)
    assert not too_wide(window, path, 1200)
    assert max(window.value(IN_SIGHT)) <= 800
    if command in ("propagate", "rank"):
        assert window.value(SLIDER) == window.value(TABLE) != []
    assert window.complaints() == []
    sheets, headings = printed(window, path)
    assert "Caution" in sheets[0]
    assert "Printed on 20" in sheets[0]
    assert f"{len(sheets)} / {len(sheets)}" in sheets[-1]
    assert stranded(sheets, headings) == []


def test_a_page_that_is_too_wide_is_seen(window: Browser, tmp_path: Path) -> None:
    wide = '<div style="width: 700px">wide</div>'
    path = written(tmp_path / "wide.html", Section("t", (Paragraph("x"),)), more=wide)
    assert too_wide(window, path, 400)
    assert not too_wide(window, path, 1200)


def test_a_verdict_below_the_first_screen_is_seen(window: Browser, tmp_path: Path) -> None:
    long = Section("t", tuple(Paragraph("about") for _ in range(900)))
    path = written(tmp_path / "long.html", long, Section("In short", (Paragraph("Met."),)))
    window.open(path, 1200, 800)
    assert window.value(IN_SIGHT)[0] > 800


def test_a_slider_on_other_quantiles_than_its_table_is_seen(window: Browser, tmp_path: Path) -> None:
    of = Requirement("thrust", "N", tuple(float(x) for x in range(201)), True, 2000)
    path = written(tmp_path / "slider.html", Section("t", ()), Section("s", (of,)))
    window.open(path, 1200, 800)
    assert [tuple(row) for row in window.value(SLIDER)] == rows(of)
    other = path.read_text(encoding="utf-8").replace('"quantiles": [0.0, 1.0', '"quantiles": [0.0, 9.0')
    path.write_text(other, encoding="utf-8")
    window.open(path, 1200, 800)
    assert window.value(SLIDER) != window.value(TABLE)


def test_an_error_of_the_script_and_a_file_from_elsewhere_are_seen(window: Browser, tmp_path: Path) -> None:
    for more in ("<script>nothing.there();</script>", '<img src="http://127.0.0.1:9/x.png">'):
        path = written(tmp_path / "error.html", Section("t", ()), cautions(), more=more)
        window.open(path, 1200, 800)
        assert window.complaints() != []


def test_a_heading_at_the_foot_of_a_sheet_is_seen(window: Browser, tmp_path: Path) -> None:
    alone = '<h2 style="break-after: page">Alone</h2><p>next sheet</p>'
    path = written(tmp_path / "alone.html", Section("t", ()), cautions(), more=alone)
    assert stranded(*printed(window, path)) == ["Alone"]
