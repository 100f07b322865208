"""Sections as one self-contained page: opens offline, prints well, legible in grey, all text escaped.

The first screen, and the first sheet, hold the answer in short, the one picture that shows it and the cautions; then
come the reasons, then folded what values were read and, on a new sheet, what is for a reviewer.
"""

import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from html import escape
from typing import Final

from explorer.page.document import Lines, Paragraph, Part, Picture, Requirement, Section, Table
from explorer.page.requirement import PLACES, rows
from explorer.page.sheet import SCRIPT, STYLE
from explorer.page.text import held

#: More headings than this get a table of contents.
_FEW: Final = 5


_ERROR: Final = (
    "Chances are those among {} points of the sample, good to ± {:.1f} % or better (one standard error)."
)


def page(sections: Iterable[Section], drawn: Mapping[str, str], command: str = "") -> str:
    """Return sections as an HTML page; the first one's title is the page's, pictures are SVG elements by name."""
    head, *rest = sections
    shown, picture = _without_first_picture(rest)
    places = {id(section): f"part-{number}" for number, section in enumerate(shown, 1)}
    first, cautions, everyone, review = _in_order(shown)

    def laid_out(of: Iterable[Section]) -> str:
        return "".join(_section(section, drawn, places[id(section)]) for section in of)

    lead = f"<div>{laid_out(first)}</div>{'' if picture is None else _part(picture, drawn)}"
    reviewer = f'<div class="reviewer">{laid_out(review)}</div>' if review else ""
    contents = _contents([(places[id(each)], each.title) for each in (*everyone, *review)], len(shown))
    title = escape(f"{command}: {head.title}" if command else head.title)
    return (
        '<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f"<title>{title}</title>\n<style>{STYLE}</style>\n</head>\n<body>\n"
        f'<header><h1>{escape(head.title)}</h1>{_parts(head.parts[:1], drawn)}<p class="printed"></p></header>\n'
        f'<div class="lead">{lead}</div>\n{laid_out(cautions)}{_parts(head.parts[1:], drawn)}{contents}'
        f"{laid_out(everyone)}{reviewer}<script>{SCRIPT}</script>\n</body>\n</html>\n"
    )


def _without_first_picture(sections: Sequence[Section]) -> tuple[list[Section], Picture | None]:
    """Sections without the first picture for everyone, which leads the page, and that picture."""
    for number, section in enumerate(sections):
        pictures = [part for part in section.parts if isinstance(part, Picture)]
        if pictures and section.audience == "everyone":
            parts = tuple(part for part in section.parts if part is not pictures[0])
            left = [replace(section, parts=parts)] if parts or number == 0 else []
            return [*sections[:number], *left, *sections[number + 1 :]], pictures[0]
    return list(sections), None


def _in_order(sections: Sequence[Section]) -> tuple[list[Section], ...]:
    """What leads, what is dangerous, what else is for everyone (folded last), what is for a reviewer."""
    everyone = [section for section in sections if section.audience == "everyone"]
    cautions = [section for section in everyone if section.title == "Caution"]
    rest = [section for section in everyone if section not in cautions]
    ordered = sorted(rest[1:], key=lambda section: section.folded)
    return rest[:1], cautions, ordered, [section for section in sections if section.audience == "reviewer"]


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
    head, kind = "", ""
    rows = [row for row in table.rows if any(row)]
    if table.head:
        if len(rows) == len(table.rows) > 2:  # no groups that sorting would take apart
            kind = ' class="sortable"'
        head = f"<thead><tr>{_cells('th', table.head, table.numbers)}</tr></thead>"
    body = "".join(f"<tr>{_cells('td', row, table.numbers)}</tr>" for row in rows)
    return f'<div class="wide"><table{kind}>{head}<tbody>{body}</tbody></table></div>\n'


def _cells(tag: str, row: tuple[str, ...], numbers: frozenset[int]) -> str:
    return "".join(
        f"<{tag}{_kind(cell, number in numbers)}>{escape(held(cell))}</{tag}>"
        for number, cell in enumerate(row)
    )


def _kind(cell: str, is_number: bool) -> str:
    if is_number:
        return ' class="number"'
    return ' class="bar"' if cell and set(cell) <= set("█░ ") else ""
