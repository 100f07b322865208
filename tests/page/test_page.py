"""The page: self-contained, escaped, everyone's part before the reviewer's."""

from html.parser import HTMLParser

from explorer.page.cautions import cautions
from explorer.page.document import Lines, Paragraph, Picture, Section, Table
from explorer.page.html import page
from explorer.page.style import blank

EVIL = '<script>alert("x")</script> & "quotes"'
VOID = {"meta"}


class Tags(HTMLParser):
    """Collects tags and attributes, and checks that they close in order."""

    def __init__(self) -> None:
        super().__init__()
        self.open: list[str] = []
        self.seen: list[str] = []
        self.links: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.seen.append(tag)
        self.links += [value or "" for name, value in attrs if name in ("href", "src")]
        if tag not in VOID:
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag


def parsed(text: str) -> Tags:
    tags = Tags()
    tags.feed(text)
    assert tags.open == []
    return tags


def test_text_from_a_study_is_escaped_everywhere() -> None:
    parts = (
        Paragraph(EVIL),
        Lines((EVIL,)),
        Table(((EVIL, EVIL),), (EVIL, EVIL)),
        Picture("drawn", blank(1, 1), EVIL),
    )
    text = page(
        [Section(EVIL, (Paragraph(EVIL),)), Section(EVIL, parts), Section(EVIL, parts, audience="reviewer")],
        {"drawn": "<svg></svg>"},
    )
    assert "script" not in parsed(text).seen
    assert "<script" not in text
    assert text.count("&lt;script&gt;") >= 10


def test_the_page_needs_nothing_from_elsewhere() -> None:
    text = page(
        [Section("t", ()), Section("s", (Picture("p", blank(1, 1), "c"),)), cautions()], {"p": "<svg></svg>"}
    )
    assert parsed(text).links == []
    assert "@import" not in text
    assert "url(" not in text


def test_what_is_for_a_reviewer_comes_last_and_cautions_before_it() -> None:
    text = page(
        [Section("t", ()), Section("numbers", (), audience="reviewer"), Section("words", ()), cautions()], {}
    )
    assert text.index("words") < text.index("kill") < text.index("numbers")
    assert "break-before: page" in text
