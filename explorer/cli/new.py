"""`mhdstage new NAME`: a commented study to fill in."""

import argparse
from pathlib import Path

from explorer.cli.terminal import Terminal
from explorer.page.cautions import cautions
from explorer.page.document import Lines, Paragraph, Section
from explorer.page.text import text_of
from explorer.page.usage import UsageError
from explorer.page.words import listed
from explorer.registry import did_you_mean
from explorer.studyfile import MARK, SECTIONS, template_text, template_values_left


def run(arguments: argparse.Namespace, terminal: Terminal) -> int:
    path = Path(arguments.name if arguments.name.endswith(".toml") else f"{arguments.name}.toml")
    for name in arguments.sections:
        if name not in SECTIONS:
            known = did_you_mean(name, SECTIONS, otherwise=f"known are {listed(SECTIONS)}")
            raise UsageError(f'--with has no "{name}"{known}')
    text = template_text(arguments.sections)
    try:
        with path.open("x", encoding="utf-8", newline="\n") as file:
            file.write(text)
    except FileExistsError:
        raise UsageError(f"{path} is there already and is left as it is: take another name") from None
    except OSError as error:
        raise UsageError(f"{path} can't be written ({error.strerror})") from error
    left = template_values_left(text)
    marked = text.count(MARK) - 1  # one stands in the explanation
    further = (("vary", "optimize"), ("flight", "flight"))
    commands = ["solve", "rank", *(asks for section, asks in further if section in arguments.sections)]
    said = (
        Section(
            "",
            (
                Paragraph(f"{path} is written: a study that runs as it stands."),
                Paragraph(
                    f'Of its values {marked} are still the template\'s invented ones, each marked "{MARK}".'
                    " Replace them, or confirm one by deleting its mark:"
                ),
                Paragraph(", ".join(left) + "."),
                Paragraph("Then go on with"),
                Lines(tuple(f"  mhdstage {command} {_quoted(path)}" for command in commands)),
            ),
        ),
        cautions(),
    )
    terminal.out(text_of(said))
    return 0


def _quoted(path: Path) -> str:
    return f'"{path}"' if " " in str(path) else str(path)
