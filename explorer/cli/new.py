"""`mhdstage new NAME`: a commented study to fill in."""

import argparse
from pathlib import Path

from explorer.cli.terminal import Terminal
from explorer.page.cautions import cautions
from explorer.page.document import Lines, Paragraph, Section
from explorer.page.text import text_of
from explorer.page.usage import UsageError
from explorer.studyfile import template_text, template_values_left


def run(arguments: argparse.Namespace, terminal: Terminal) -> int:
    path = Path(arguments.name if arguments.name.endswith(".toml") else f"{arguments.name}.toml")
    text = template_text()
    try:
        with path.open("x", encoding="utf-8", newline="\n") as file:
            file.write(text)
    except FileExistsError:
        raise UsageError(f"{path} is there already and is left as it is: take another name") from None
    except OSError as error:
        raise UsageError(f"{path} can't be written ({error.strerror})") from error
    left = template_values_left(text)
    said = (
        Section(
            "",
            (
                Paragraph(f"{path} is written: a study that runs as it stands."),
                Paragraph(
                    f'Of its values {len(left)} are still the template\'s invented ones, each marked "<- yours?".'
                    " Replace them, or confirm one by deleting its mark:"
                ),
                Paragraph(", ".join(left) + "."),
                Paragraph("Then go on with"),
                Lines((f"  mhdstage solve {_quoted(path)}", f"  mhdstage rank {_quoted(path)}")),
            ),
        ),
        cautions(),
    )
    terminal.out(text_of(said))
    return 0


def _quoted(path: Path) -> str:
    return f'"{path}"' if " " in str(path) else str(path)
