"""What a command would show and write of an answer, and of sections."""

import csv
import io
import json
from collections.abc import Iterable, Sequence
from typing import Any

import pandas as pd
import pytest

from explorer.cli.command import csv_text
from explorer.page import html
from explorer.page.answer import Answer, Envelope
from explorer.page.document import Picture, Section
from explorer.page.pictures.style import images
from explorer.page.text import text_of
from explorer.store import envelope, json_text


def envelope_of(command: str, *studies: str) -> Envelope:
    """What an answer's JSON begins with, of studies nobody has written down."""

    def made(random_number: int, warnings: Sequence[str] = ()) -> dict[str, Any]:
        return envelope(
            command=command,
            study=list(studies) or "study.toml",
            study_hash=[str(place) for place in range(len(studies))] or "0",
            random_number=random_number,
            warnings=warnings,
        )

    return made


def printed(answer: Answer, audience: str = "everyone", *, title: str | None = None) -> str:
    """An answer's text as it is printed, or what a reviewer reads; of one section where its title is given."""
    return text_of(
        section
        for section in answer.sections
        if section.audience == audience and title in (None, section.title)
    )


def sentences(answer: Answer, title: str | None = None) -> str:
    """The printed text on one line."""
    return " ".join(printed(answer, title=title).split())


def table(answer: Answer, title: str, number: int = 0) -> list[tuple[str, ...]]:
    """The head and the rows of a table of a section."""
    parts = [part for section in answer.sections if section.title == title for part in section.parts]
    found = [part for part in parts if hasattr(part, "rows")][number]
    return [found.head, *found.rows]


def json_of(answer: Answer) -> dict[str, Any]:
    """An answer's JSON, read back; NaN and infinity are no JSON."""
    content = json_text({**answer.envelope, **answer.data})
    found: dict[str, Any] = json.loads(content, parse_constant=pytest.fail)
    return found


def csv_of(answer: Answer, name: str) -> list[dict[str, str]]:
    """The rows of one of an answer's tables, read back."""
    content = answer.files[name]
    text = csv_text(content) if isinstance(content, pd.DataFrame) else content
    return list(csv.DictReader(io.StringIO(text)))


def page_of(answer: Answer) -> str:
    """An answer's page."""
    return page(answer.sections, answer.brief)


def page(sections: Iterable[Section], brief: Sequence[Section] = ()) -> str:
    """Sections as a page."""
    every = list(sections)
    pictures = [part for section in every for part in section.parts if isinstance(part, Picture)]
    drawn = {
        part.name: part.figure if isinstance(part.figure, str) else images(part.figure, ())[0]
        for part in pictures
    }
    return html.page(every, drawn, brief=brief)
