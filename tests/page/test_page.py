"""The page: self-contained, escaped, everyone's part before the reviewer's."""

from html.parser import HTMLParser

from explorer.page.brief import CAUTION
from explorer.page.cautions import cautions
from explorer.page.document import Lines, Paragraph, Picture, Section, Table
from explorer.page.html import page
from explorer.page.pictures.style import blank

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
    assert parsed(text).seen.count("script") == text.count("<script") == 1  # the page's own
    assert text.count("&lt;script&gt;") >= 10


def test_the_page_needs_nothing_from_elsewhere() -> None:
    text = page(
        [Section("t", ()), Section("s", (Picture("p", blank(1, 1), "c"),)), cautions()], {"p": "<svg></svg>"}
    )
    assert parsed(text).links == []
    assert "@import" not in text
    assert "url(" not in text


def test_what_is_for_a_reviewer_comes_last_and_cautions_before_it() -> None:
    words = Section("In short", (Paragraph("words"),))
    text = page([Section("t", ()), Section("numbers", (), audience="reviewer"), words, cautions()], {})
    assert text.index("words") < text.index("kill") < text.index("numbers")
    assert "break-before: page" in text


class Outline(HTMLParser):
    """Which sections stand in details, which places have a name, where links lead."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.ids: list[str] = []
        self.links: list[str] = []
        self.folded: list[str] = []
        self.open: list[str] = []
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if tag not in VOID:
            self.open.append(tag)
        named = dict(attrs)
        self.ids += [named["id"] or ""] if "id" in named else []
        self.links += [named["href"] or ""] if "href" in named else []

    def handle_endtag(self, tag: str) -> None:
        self.open.pop()

    def handle_data(self, data: str) -> None:
        if self.open[-1:] == ["h2"] and "details" in self.open:
            self.folded.append(data)


def many_sections() -> list[Section]:
    drawn = Section("drawn", (Paragraph("reason"), Picture("p", blank(1, 1), "how <sure>")))
    read = Section("read", (Paragraph("values"),), folded=True)
    plain = [Section(f"plain {number}", (Paragraph(f"sentence {number}"),)) for number in range(4)]
    numbers = Section("numbers", (Paragraph("statistics"),), audience="reviewer")
    return [Section("Bench", (Paragraph("about"),)), plain[0], read, drawn, *plain[1:], cautions(), numbers]


def test_answer_caution_and_first_picture_lead_then_reasons_and_folded_parts() -> None:
    text = page(many_sections(), {"p": "<svg></svg>"}, "rank")
    parsed(text)
    words = ("sentence 0", "kill", "<svg>", "reason", "sentence 3", "values", "statistics")
    places = [text.index(word) for word in words]
    assert places == sorted(places)
    assert Outline(text).folded == ["read", "numbers"]


def test_contents_lead_somewhere_and_stand_only_above_more_than_five_headings() -> None:
    outline = Outline(page(many_sections(), {"p": "<svg></svg>"}))
    assert len(outline.links) == 6
    assert {link.removeprefix("#") for link in outline.links} < set(outline.ids)
    assert len(set(outline.ids)) == len(outline.ids)
    assert "<nav" not in page([Section("t", ()), *many_sections()[1:6]], {"p": "<svg></svg>"})


def test_the_window_names_command_and_study_and_each_picture_says_what_it_shows() -> None:
    text = page(many_sections(), {"p": "<svg></svg>"}, "rank")
    assert "<title>rank: Bench</title>" in text
    assert "<svg><title>how &lt;sure&gt;</title></svg>" in text


def test_rows_sort_only_where_no_blank_row_parts_them() -> None:
    rows = (("a", "1"), ("b", "2"), ("c", "3"))
    groups = (("a", "1"), ("", ""), ("c", "3"), ("d", "4"))

    def sortable(*of: tuple[str, ...]) -> bool:
        return '<table class="sortable ' in page([Section("t", (Table(of, ("name", "value")),))], {})

    assert sortable(*rows)
    assert not sortable(*groups)


def test_the_short_answer_leads_and_what_it_holds_stands_once() -> None:
    changed = Section("Before and after", (Table((("field", "0.48 T", "0.6 T"),)),))
    foot = Section("", (Paragraph("22 uncertain values."), Paragraph(CAUTION)))
    brief = (Section("Solve: Bench", (Paragraph("Not met: 1 N, 2 N required. And more."),)), changed, foot)
    plain, *rest = many_sections()[1:]
    text = page([many_sections()[0], plain, changed, *rest], {"p": "<svg></svg>"}, "solve", brief)
    words = (
        "<strong>Not met",
        "And more",
        "0.6\u00a0T",
        "kill",
        "<svg>",
        "uncertain values.",
        "sentence 0",
        "reason",
    )
    places = [text.index(word) for word in words]
    assert places == sorted(places)
    assert text.count("0.6\u00a0T") == 1
    assert CAUTION not in text


def test_rows_that_become_lines_on_a_narrow_page_name_their_columns() -> None:
    heads = ("what", "value", "limit", "found")
    text = page([Section("t", (Table((("gas.seed_water", "1", "2", "3"),), heads),))], {})
    assert '<td data-head="limit">2</td>' in text
    assert "gas.<wbr>seed_<wbr>water" in text
