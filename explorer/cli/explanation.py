"""What there is to say about a name: of registry, study file, command line or page. Nothing here loads the model."""

from argparse import ArgumentParser, HelpFormatter
from functools import partial
from typing import Final

from explorer import registry
from explorer.cli import explained_keys
from explorer.cli.glossary import ALSO, GLOSSARY
from explorer.cli.questions import COMMANDS, Command
from explorer.page.document import Lines, Paragraph, Part, Section, Table
from explorer.registry import Choice, Named, PointWarning, Quantity, UnknownAddressError

#: Inputs by the beginning of their addresses, in the order of a study.
_INPUTS: Final = (
    *("gas", "nozzle", "channel", "preionizer", "magnet", "electrodes", "exit", "ambient", "mass", "flight"),
)

_NAMED: Final = {
    "Fuels": registry.FUELS,
    "Oxidisers": registry.OXIDIZERS,
    "Seeds": registry.SEEDS,
    "Magnet grades": registry.MAGNET_GRADES,
    "Statuses of a point": registry.STATUSES,
}

_USAGE_WIDTH: Final[int] = 86


def explanation(name: str) -> tuple[Section, ...]:
    """Return what there is to say about a name: an input, output, key, table, command, word of a page."""
    plain = name.strip().strip("[]").strip()
    found = _in_registry(plain)
    if found:
        return found
    rows = _inputs_below(plain)
    found = (
        *explained_keys.explanation(plain),
        *((Section(f"Inputs of {plain}", (Table(rows),)),) if rows else ()),
        *_of_command(plain),
        *_of_page(plain),
    )
    if not found:
        commands = (command.name for command in COMMANDS)
        raise UnknownAddressError(name, *explained_keys.names(), *commands, *GLOSSARY, *ALSO)
    return found


def everything() -> tuple[Section, ...]:
    """Return all that there is to explain, by group."""
    inputs = [Section(f"Inputs: {table}", (Table(_inputs_below(table)),)) for table in _INPUTS]
    mode = registry.choice("mode")
    stage = tuple((q.address, q.sentence) for q in registry.OUTPUTS if not q.per_pair)
    pair = tuple((q.address, q.sentence) for q in registry.OUTPUTS if q.per_pair)
    flight = tuple((q.address, q.sentence) for q in registry.FLIGHT_OUTPUTS)
    named = [
        Section(title, (Table(tuple((item.name, item.sentence) for item in items)),))
        for title, items in _NAMED.items()
    ]
    warnings = Table(tuple((warning.code, f"{warning.title}.") for warning in registry.WARNINGS))
    commands = Table(tuple((command.name, _sentence(command)) for command in COMMANDS))
    return (
        Section("Mode", (Table((("mode", f"{mode.sentence} {' or '.join(mode.options)}."),)),)),
        *inputs,
        *explained_keys.everything(),
        Section("Outputs of the stage", (Table(stage),)),
        Section("Outputs of a pair", (Table(pair), Paragraph('Of one pair: "electrodes.main.current".'))),
        Section("Outputs of a flight", (Table(flight),)),
        *named,
        Section("Warnings", (warnings,)),
        Section("Commands", (commands,)),
        Section("Words on terminal and page", (Table(tuple(GLOSSARY.items())),)),
        Section("More", (Paragraph("mhdstage explain NAME tells all about one of them."),)),
    )


def _inputs_below(name: str) -> tuple[tuple[str, str], ...]:
    beginning = name.rstrip(".") + "."
    parts = beginning.split(".")
    pair = parts[1] if parts[0] == "electrodes" and len(parts) > 2 and parts[1] else None
    entries = [(item.address, item.sentence) for item in registry.CHOICES]
    entries += [(item.address, item.sentence) for item in (*registry.INPUTS, *registry.FLIGHT_INPUTS)]
    rows = [(address if pair is None else address.replace("*", pair), words) for address, words in entries]
    return tuple(row for row in rows if row[0].startswith(beginning))


def _in_registry(name: str) -> tuple[Section, ...]:
    try:
        return (_of_entry(name, registry.entry(name)),)
    except UnknownAddressError:
        return tuple(_of_entry(address, registry.entry(address)) for address in registry.called(name))


def _of_command(name: str) -> tuple[Section, ...]:
    for command in COMMANDS:
        if name in (command.name, f"mhdstage {command.name}"):
            parser = ArgumentParser(
                f"mhdstage {command.name}", formatter_class=partial(HelpFormatter, width=_USAGE_WIDTH)
            )
            command.options(parser)
            usage = tuple(line[len("usage: ") :] for line in parser.format_usage().splitlines())
            more = Paragraph(f"mhdstage {command.name} --help tells what each option does.")
            return (
                Section(
                    f"{command.name} (command)", (Paragraph(_sentence(command)), Lines(usage), more), True
                ),
            )
    return ()


def _sentence(command: Command) -> str:
    return f"{command.words[0].upper()}{command.words[1:]}."


def _of_page(name: str) -> tuple[Section, ...]:
    word = ALSO.get(name.casefold(), name.casefold())
    if word not in GLOSSARY:
        return ()
    return (Section(f"{word} (on terminal and page)", (Paragraph(GLOSSARY[word]),), as_written=True),)


def _of_entry(name: str, entry: Quantity | Choice | Named | PointWarning) -> Section:
    if isinstance(entry, Quantity):
        return Section(entry.address, _of_quantity(entry), as_written=True)
    if isinstance(entry, Choice):
        options = ", ".join(entry.options) or "any text"
        default = "none: a study must say it" if entry.default is None else entry.default
        rows = (("may be", options), ("default", default))
        title = name if "*" in entry.address else entry.address
        return Section(title, (Paragraph(entry.sentence), Table(rows)), as_written=True)
    if isinstance(entry, Named):
        return Section(f"{entry.name} ({entry.kind})", (Paragraph(entry.sentence),), as_written=True)
    words = f"{entry.title[0].upper()}{entry.title[1:]}. {entry.sentence}"
    return Section(f"{entry.code} (warning)", (Paragraph(words),), as_written=True)


def _of_quantity(quantity: Quantity) -> tuple[Part, ...]:
    rows = [("is", quantity.kind_words), ("symbol", quantity.symbol)]
    rows.append(("unit", _unit_words(quantity)))
    if quantity.sign:
        rows.append(("sign", quantity.sign))
    if quantity.kind == "input":
        rows += [("bounds", quantity.bounds_words()), ("default", _default_words(quantity))]
        rows.append(("uncertainty", "may be given" if quantity.may_be_uncertain else "none: must be exact"))
    else:
        if quantity.per_pair:
            adds = "its sum" if quantity.adds else "none at top level"
            rows.append(("of several pairs", f"{adds}; each as electrodes.<name>.{quantity.address}"))
        if quantity.model_error:
            rows.append(
                (
                    "model's own error",
                    f"{100 * quantity.model_error:g} % assumed, unless [model_error] says it",
                )
            )
    if quantity.formula:
        rows.append(("formula", f"stands in {quantity.formula}"))
    return Paragraph(quantity.sentence), Table(tuple(rows))


def _unit_words(quantity: Quantity) -> str:
    if quantity.unit == "1" and quantity.shown_unit == "1":
        return "none"
    if quantity.unit == quantity.shown_unit:
        return quantity.unit
    inside = "a plain number" if quantity.unit == "1" else quantity.unit
    return f"{quantity.shown_unit} on screen; {inside} in JSON and in Python"


def _default_words(quantity: Quantity) -> str:
    if quantity.default is None:
        return "none: a study that needs it must say it"
    return f"{quantity.shown(quantity.default)} ({quantity.default_origin})"
