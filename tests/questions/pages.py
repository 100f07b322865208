"""Sections as the page that a command would write of them."""

from collections.abc import Iterable

from explorer.page import html
from explorer.page.document import Picture, Section
from explorer.page.style import images


def page(sections: Iterable[Section]) -> str:
    every = list(sections)
    pictures = [part for section in every for part in section.parts if isinstance(part, Picture)]
    drawn = {
        part.name: part.figure if isinstance(part.figure, str) else images(part.figure, ())[0]
        for part in pictures
    }
    return html.page(every, drawn)
