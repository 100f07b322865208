"""`mhdstage firing add STUDY`: a row in the table of firings, asked for where it isn't given."""

import argparse
import datetime
import os
import sys
from collections.abc import Callable, Mapping
from pathlib import Path

from explorer import registry
from explorer.cli.terminal import Terminal
from explorer.firings import FiringError, read_rows
from explorer.firings.adding import with_row
from explorer.page.usage import UsageError, assigned
from explorer.page.words import listed
from explorer.study.firing.recorded import firings_file, recorded
from explorer.studyfile import Study, read_study

Ask = Callable[[str], str]


def run(arguments: argparse.Namespace, terminal: Terminal) -> int:
    """Write one row, once it has been found to be right together with the rows of its firing."""
    study = read_study(arguments.study)
    path = arguments.firings or firings_file(study)
    cells = _given(arguments, study)
    if not arguments.name or not arguments.read:
        if not sys.stdin.isatty() and not arguments.ask:
            raise UsageError('name the firing and what was read: --name F07 --read current="8.1 A"')
        cells = _asked(cells, study, input)
    content = path.read_bytes() if path.exists() else b""
    beside = path.with_name(f".{path.stem}.adding{path.suffix or '.csv'}")
    try:
        beside.write_bytes(with_row(content, cells, path.name))
        _refuse_wrong(beside, study, cells)
        os.replace(beside, path)
    except FiringError as error:
        raise UsageError(str(error).replace(beside.name, path.name)) from error
    except OSError as error:
        raise UsageError(f"{path} can't be written ({error.strerror})") from error
    finally:
        beside.unlink(missing_ok=True)
    many = len({row.name for row in read_rows(path)})
    step = f", {cells['step']}" if cells.get("step") else ""
    terminal.out(
        f"{cells['name']}{step} is in {path}, which holds {many} firing{'s' if many > 1 else ''} now.\n"
    )
    terminal.out(
        f"Hold it against the prediction: mhdstage card {arguments.study} --against {cells['name']}\n"
    )
    return 0


def _given(arguments: argparse.Namespace, study: Study) -> dict[str, str]:
    """The cells that the command line gives."""
    stem = study.path.stem if study.path is not None else ""
    about = {key: getattr(arguments, key) for key in ("name", "date", "mode", "step", "seconds", "note")}
    cells = {key: str(item) for key, item in about.items() if item}
    cells |= {"date": cells.get("date", datetime.date.today().isoformat()), "study": stem}
    for option, texts in (("--set", arguments.settings), ("--read", arguments.read)):
        cells |= assigned(option, texts, example='current="8.1 A"')
    return cells


def _asked(cells: Mapping[str, str], study: Study, ask: Ask) -> dict[str, str]:
    """The cells with what is missing asked for: name, step, settings that were others, what each instrument read."""
    found = dict(cells)
    for key, words in (
        ("name", "Name of the firing, such as F07"),
        ("step", "Step of the burn (empty: it has none)"),
    ):
        if not found.get(key):
            found[key] = ask(f"{words}: ").strip()
    while text := ask("Set otherwise than the study has it, ADDRESS=VALUE (empty: nothing more): ").strip():
        address, _, value = text.partition("=")
        found[address.strip()] = value.strip()
    for instrument in study.instruments:
        if instrument.reads not in found:
            unit = registry.quantity(instrument.reads).shown_unit
            words = registry.words_of(instrument.reads)
            found[instrument.reads] = ask(
                f"{instrument.name}: {words}, with its unit ({unit}; empty: not read): "
            ).strip()
    if not found.get("note"):
        found["note"] = ask("Note: ").strip()
    return {key: item for key, item in found.items() if item}


def _refuse_wrong(path: Path, study: Study, cells: Mapping[str, str]) -> None:
    """Refuse a row that couldn't be used, before the table of firings is touched."""
    left_out = recorded(read_rows(path), study).left_out
    if own := [each.why for each in left_out if each.name == cells.get("name")]:
        raise FiringError(f"nothing was written: {listed(own)}")
