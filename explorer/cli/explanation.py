"""What the registry says about a name, and what there is by group. Nothing here loads the model."""

from typing import Final

from explorer import registry
from explorer.page.document import Paragraph, Part, Section, Table
from explorer.registry import Choice, Named, PointWarning, Quantity, UnknownAddressError

#: Inputs by the beginning of their addresses, in the order of a study.
_INPUTS: Final = ("gas", "nozzle", "channel", "magnet", "electrodes", "exit", "ambient", "mass")

_NAMED: Final = {
    "Fuels": registry.FUELS,
    "Oxidizers": registry.OXIDIZERS,
    "Seeds": registry.SEEDS,
    "Magnet grades": registry.MAGNET_GRADES,
    "Statuses of a point": registry.STATUSES,
}


def explanation(name: str) -> tuple[Section, ...]:
    """Return what there is to say about a name, or about all inputs whose addresses begin with it."""
    try:
        return (_of_entry(name, registry.entry(name)),)
    except UnknownAddressError:
        rows = _inputs_below(name)
        if not rows:
            raise
        return (Section(f"Inputs of {name}", (Table(rows),)),)


def everything() -> tuple[Section, ...]:
    """Return all that the registry holds, by group."""
    inputs = [Section(f"Inputs: {table}", (Table(_inputs_below(table)),)) for table in _INPUTS]
    mode = registry.choice("mode")
    stage = tuple((q.address, q.sentence) for q in registry.OUTPUTS if not q.per_pair)
    pair = tuple((q.address, q.sentence) for q in registry.OUTPUTS if q.per_pair)
    named = [
        Section(title, (Table(tuple((item.name, item.sentence) for item in items)),))
        for title, items in _NAMED.items()
    ]
    warnings = Table(tuple((warning.code, f"{warning.title}.") for warning in registry.WARNINGS))
    return (
        Section("Mode", (Table((("mode", f"{mode.sentence} {' or '.join(mode.options)}."),)),)),
        *inputs,
        Section("Outputs of the stage", (Table(stage),)),
        Section("Outputs of a pair", (Table(pair), Paragraph('Of one pair: "electrodes.main.current".'))),
        *named,
        Section("Warnings", (warnings,)),
        Section("More", (Paragraph("mhdstage explain NAME tells all about one of them."),)),
    )


def _inputs_below(name: str) -> tuple[tuple[str, str], ...]:
    beginning = name.rstrip(".") + "."
    parts = beginning.split(".")
    pair = parts[1] if parts[0] == "electrodes" and len(parts) > 2 and parts[1] else None
    entries = [(item.address, item.sentence) for item in registry.CHOICES]
    entries += [(item.address, item.sentence) for item in registry.INPUTS]
    rows = [(address if pair is None else address.replace("*", pair), words) for address, words in entries]
    return tuple(row for row in rows if row[0].startswith(beginning))


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
    rows = [("is", "an input" if quantity.kind == "input" else "an output"), ("symbol", quantity.symbol)]
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
