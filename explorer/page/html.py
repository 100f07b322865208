"""Sections as one self-contained page: opens offline, prints well, legible in grey, all text escaped.

What is for everyone comes first; what is for a reviewer follows on a new sheet.
"""

from collections.abc import Iterable, Mapping
from html import escape
from typing import Final

from explorer.page.document import Lines, Paragraph, Part, Picture, Section, Table
from explorer.page.text import held

_STYLE: Final = """
body { font: 16px/1.45 system-ui, "DejaVu Sans", sans-serif; color: #111; background: #fff;
       max-width: 60rem; margin: 1.5rem auto; padding: 0 1rem; }
h1 { font-size: 1.5rem; margin-bottom: .2rem; }
h2 { font-size: 1.15rem; margin: 1.6rem 0 .4rem; border-bottom: 1px solid #999; }
p { margin: .5rem 0; max-width: 48rem; }
p.marked { border-left: 4px solid #111; padding-left: .7rem; }
p.marked::before { content: "Note: "; font-weight: bold; }
table { border-collapse: collapse; margin: .6rem 0; font-size: .9rem; }
th, td { text-align: left; vertical-align: top; padding: .15rem .8rem .15rem 0; border-bottom: 1px solid #ddd; }
th { border-bottom: 1px solid #111; }
td.number, th.number { text-align: right; font-variant-numeric: tabular-nums; }
td.bar { font-family: "DejaVu Sans Mono", monospace; white-space: pre; }
pre { font-size: .85rem; white-space: pre-wrap; }
figure { margin: .8rem 0; break-inside: avoid; }
figcaption { font-size: .85rem; color: #333; }
section.caution { border: 2px solid #111; padding: .2rem .8rem; margin: 1.2rem 0; break-inside: avoid; }
section.caution h2 { border: none; margin: .3rem 0; }
.wide { overflow-x: auto; }
@media print {
  @page { margin: 15mm; }
  body { font-size: 10pt; margin: 0; max-width: none; }
  .wide { overflow: visible; } table { font-size: 7.5pt; } th, td { padding-right: .45rem; }
  tr { break-inside: avoid; } h2 { break-after: avoid; } thead { display: table-header-group; }
  div.reviewer { break-before: page; }
}
"""


def page(sections: Iterable[Section], drawn: Mapping[str, str]) -> str:
    """Return sections as an HTML page; the first one's title is the page's, pictures are SVG elements by name."""
    every = list(sections)
    head, rest = every[0], every[1:]
    first = [_section(section, drawn) for section in rest if section.audience == "everyone"]
    review = [_section(section, drawn) for section in rest if section.audience == "reviewer"]
    heading = f"<header><h1>{escape(head.title)}</h1>{_parts(head, drawn)}</header>"
    reviewer = f'<div class="reviewer">{"".join(review)}</div>' if review else ""
    return (
        '<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f"<title>{escape(head.title)}</title>\n<style>{_STYLE}</style>\n</head>\n<body>\n"
        f"{heading}\n{''.join(first)}{reviewer}</body>\n</html>\n"
    )


def _section(section: Section, drawn: Mapping[str, str]) -> str:
    kind = ' class="caution"' if section.title == "Caution" else ""
    return f"<section{kind}><h2>{escape(section.title)}</h2>{_parts(section, drawn)}</section>\n"


def _parts(section: Section, drawn: Mapping[str, str]) -> str:
    return "".join(_part(part, drawn) for part in section.parts)


def _part(part: Part, drawn: Mapping[str, str]) -> str:
    if isinstance(part, Paragraph):
        kind = ' class="marked"' if part.marked else ""
        return f"<p{kind}>{escape(held(part.text))}</p>\n"
    if isinstance(part, Lines):
        return f"<pre>{escape(chr(10).join(part.lines))}</pre>\n"
    if isinstance(part, Picture):  # the one part that isn't escaped: this program drew it
        return f"<figure>{drawn[part.name]}<figcaption>{escape(part.caption)}</figcaption></figure>\n"
    return _table(part)


def _table(table: Table) -> str:
    head = ""
    if table.head:
        head = f"<thead><tr>{_cells('th', table.head, table.numbers)}</tr></thead>"
    rows = "".join(f"<tr>{_cells('td', row, table.numbers)}</tr>" for row in table.rows if any(row))
    return f'<div class="wide"><table>{head}<tbody>{rows}</tbody></table></div>\n'


def _cells(tag: str, row: tuple[str, ...], numbers: frozenset[int]) -> str:
    return "".join(
        f"<{tag}{_kind(cell, number in numbers)}>{escape(held(cell))}</{tag}>"
        for number, cell in enumerate(row)
    )


def _kind(cell: str, is_number: bool) -> str:
    if is_number:
        return ' class="number"'
    return ' class="bar"' if cell and set(cell) <= set("█░ ") else ""
