"""Sections as one self-contained page: opens offline, prints well, legible in grey, all text escaped.

The first screen, and the first sheet, hold the answer in short, the one picture that shows it and the cautions; then
come the reasons, then folded what values were read and, on a new sheet, what is for a reviewer.
"""

import json
import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from html import escape
from typing import Final

from explorer.page.brief import CAUTION
from explorer.page.document import Lines, Paragraph, Part, Picture, Requirement, Section, Table
from explorer.page.requirement import PLACES, rows
from explorer.page.sheet import SCRIPT, STYLE
from explorer.page.text import held

#: More headings than this get a table of contents.
_FEW: Final = 5


#: Columns that a narrow page has room for; from how many on a table is a wide one; rows that stay on one sheet.
_SIDE_BY_SIDE: Final = 3
_MANY: Final = 7
_SHORT: Final = 14

_FIRST_SENTENCE: Final = re.compile(r"^<p>(.*?[.:](?= [A-Z])|.*?(?=</p>))")
_IN_ADDRESS: Final = re.compile(r"(?<=[a-z])([._])(?=[a-z])")

#: What a short answer says and a page has a place of its own for.
_SAID_ELSEWHERE: Final = (Paragraph(CAUTION),)

_ERROR: Final = (
    "Chances are those among {} points of the sample, good to ± {:.1f} % or better (one standard error)."
)


def page(
    sections: Iterable[Section], drawn: Mapping[str, str], command: str = "", brief: Sequence[Section] = ()
) -> str:
    """Return sections as an HTML page; the first one's title is the page's, pictures are SVG elements by name.

    The short answer leads where there is one, else the first section behind the title.
    """
    head, *rest = sections
    shown, picture = _without_first_picture([section for section in rest if section not in brief])
    cautions, everyone, review = _in_order(shown)
    first = list(brief) or everyone[:1]
    everyone = everyone if brief else everyone[1:]
    places = {id(section): f"part-{number}" for number, section in enumerate((*everyone, *review), 1)}

    def laid_out(of: Iterable[Section]) -> str:
        return "".join(_section(section, drawn, places.get(id(section), "")) for section in of)

    reviewer = f'<div class="reviewer">{laid_out(review)}</div>' if review else ""
    contents = _contents([(places[id(each)], each.title) for each in (*everyone, *review)], len(shown))
    title = escape(f"{command}: {head.title}" if command else head.title)
    changed = laid_out(section for section in first[1:] if section.title)
    return (
        '<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f"<title>{title}</title>\n<style>{STYLE}</style>\n</head>\n<body>\n"
        f'<header><h1>{escape(head.title)}</h1>{_parts(head.parts, drawn)}<p class="printed"></p></header>\n'
        f'<div class="lead">{_said(first, drawn)}{changed}{laid_out(cautions)}'
        f"{_shown(first, picture, drawn)}</div>\n"
        f"{contents}{laid_out(everyone)}{reviewer}<script>{SCRIPT}</script>\n</body>\n</html>\n"
    )


def _said(first: Sequence[Section], drawn: Mapping[str, str]) -> str:
    """What is said in short: the verdict, what to do, what could fool the reader."""
    if not first:
        return ""
    verdict, *rest = first
    leading = _FIRST_SENTENCE.sub(r"<p><strong>\1</strong>", _parts(verdict.parts, drawn), count=1)
    said = [part for section in rest[:-1] if not section.title for part in section.parts]
    words = _parts((part for part in said if not isinstance(part, Table)), drawn)
    return f'<div class="said"><div class="verdict">{leading}</div>{words}</div>\n'


def _shown(first: Sequence[Section], picture: Picture | None, drawn: Mapping[str, str]) -> str:
    """What stands beside it: the picture that shows it, its numbers, and what the short answer says at its foot."""
    parts = [part for section in first[1:] if not section.title for part in section.parts]
    numbers = _parts((part for part in parts if isinstance(part, Table)), drawn)
    foot = [part for section in first[1:][-1:] for part in section.parts if part not in _SAID_ELSEWHERE]
    drawing = "" if picture is None else _part(picture, drawn)
    return f'<div class="shown">{drawing}{numbers}<div class="foot">{_parts(foot, drawn)}</div></div>'


def _without_first_picture(sections: Sequence[Section]) -> tuple[list[Section], Picture | None]:
    """Sections without the first picture for everyone, which leads the page, and that picture."""
    for number, section in enumerate(sections):
        pictures = [part for part in section.parts if isinstance(part, Picture)]
        if pictures and section.audience == "everyone":
            parts = tuple(part for part in section.parts if part is not pictures[0])
            left = [replace(section, parts=parts)] if parts else []
            return [*sections[:number], *left, *sections[number + 1 :]], pictures[0]
    return list(sections), None


def _in_order(sections: Sequence[Section]) -> tuple[list[Section], ...]:
    """What is dangerous, what else is for everyone (folded last), what is for a reviewer."""
    everyone = [section for section in sections if section.audience == "everyone"]
    cautions = [section for section in everyone if section.title == "Caution"]
    ordered = sorted((section for section in everyone if section not in cautions), key=lambda s: s.folded)
    return cautions, ordered, [section for section in sections if section.audience == "reviewer"]


def _contents(places: Sequence[tuple[str, str]], headings: int) -> str:
    if headings <= _FEW:
        return ""
    items = "".join(f'<li><a href="#{place}">{escape(title)}</a></li>' for place, title in places)
    return f'<nav aria-label="Contents"><ol>{items}</ol></nav>\n'


def _section(section: Section, drawn: Mapping[str, str], place: str) -> str:
    kind = ' class="caution"' if section.title == "Caution" else ""
    heading, parts = f"<h2>{escape(section.title)}</h2>", _parts(section.parts, drawn)
    if section.folded or section.audience == "reviewer":
        return f'<section id="{place}"><details><summary>{heading}</summary>{parts}</details></section>\n'
    return f'<section id="{place}"{kind}>{heading}{parts}</section>\n'


def _parts(parts: Iterable[Part], drawn: Mapping[str, str]) -> str:
    return "".join(_part(part, drawn) for part in parts)


def _picture(picture: Picture, element: str) -> str:
    """A picture with its caption, which is also what is read out in its place."""
    caption = escape(picture.caption)
    opening = element.index(">") + 1  # the one part that isn't escaped: this program drew it
    named = f"{element[:opening]}<title>{caption}</title>{element[opening:]}"
    return f'<figure><div class="drawing">{named}</div><figcaption>{caption}</figcaption></figure>\n'


def _part(part: Part, drawn: Mapping[str, str]) -> str:
    if isinstance(part, Paragraph):
        kind = ' class="marked"' if part.marked else ""
        return f"<p{kind}>{escape(held(part.text))}</p>\n"
    if isinstance(part, Lines):
        return f"<pre>{escape(chr(10).join(part.lines))}</pre>\n"
    if isinstance(part, Requirement):
        return _slider(part)
    if isinstance(part, Picture):
        return _picture(part, drawn[part.name])
    return _table(part)


def _slider(part: Requirement) -> str:
    """A table of requirements and chances, above which the script puts a slider."""
    words = "at least" if part.at_least else "at most"
    data = {"quantiles": part.quantiles, "atLeast": part.at_least, "unit": part.unit, "places": PLACES}
    table = Table(tuple(rows(part)), (f"{part.name} {words}", "chance"), frozenset({0, 1}))
    content = json.dumps(data).replace("<", "\\u003c")
    label = escape(f"required: {part.name} {words}")
    error = _ERROR.format(part.points, 50.0 / part.points**0.5)
    return (
        f'<div class="requirement"><p hidden><label>{label} <output></output><br>'
        f'<input type="range" min="0" max="{PLACES}" value="{PLACES // 2}"></label></p>'
        f'<script type="application/json">{content}</script>{_table(table)}<p>{escape(error)}</p></div>\n'
    )


def _table(table: Table) -> str:
    rows = [row for row in table.rows if any(row)]
    sorts = table.head and len(rows) == len(table.rows) > 2  # no groups that sorting would take apart
    stacks = len(table.head) > _SIDE_BY_SIDE
    kinds = {
        "sortable": sorts,
        "stacks": stacks,
        "many": len(table.head) > _MANY,
        "short": len(rows) <= _SHORT,
    }
    named = " ".join(kind for kind, holds in kinds.items() if holds)
    kind = f' class="{named}"' if named else ""
    head = f"<thead><tr>{_cells('th', table.head, table.numbers)}</tr></thead>" if table.head else ""
    heads = table.head if stacks else ()
    body = "".join(f"<tr>{_cells('td', row, table.numbers, heads)}</tr>" for row in rows)
    return f'<div class="wide"><table{kind}>{head}<tbody>{body}</tbody></table></div>\n'


def _cells(tag: str, row: Sequence[str], numbers: frozenset[int], heads: Sequence[str] = ()) -> str:
    """A row's cells; each names its column where the row may become lines on a narrow page."""
    named = [f' data-head="{escape(held(head))}"' if head else "" for head in heads] or [""] * len(row)
    return "".join(
        f"<{tag}{_kind(cell, number in numbers)}{name}>{_broken(escape(held(cell)))}</{tag}>"
        for number, (cell, name) in enumerate(zip(row, named, strict=True))
    )


def _broken(cell: str) -> str:
    """A cell in which an address may be broken after its points and underscores."""
    return _IN_ADDRESS.sub(r"\1<wbr>", cell)


def _kind(cell: str, is_number: bool) -> str:
    if is_number:
        return ' class="number"'
    return ' class="bar"' if cell and set(cell) <= set("█░ ") else ""
