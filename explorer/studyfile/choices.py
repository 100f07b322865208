"""The words that a study chooses, and which inputs they call for or rule out."""

from collections.abc import Mapping
from dataclasses import dataclass

from explorer import registry
from explorer.registry import Quantity
from explorer.studyfile.document import ALTERNATIVES, Document, at
from explorer.studyfile.error import StudyError


@dataclass(frozen=True)
class Need:
    """Whether an input must stand in a study, may, or does not fit it."""

    needed: bool
    reason: str = ""  #: why it is needed
    misfit: str = ""  #: why it does not fit; "" where it may stand


def choices_of(document: Document, pairs: tuple[str, ...]) -> tuple[dict[str, str], dict[str, str]]:
    """Return the words that the study chose, by address, and who says so."""
    choices: dict[str, str] = {}
    origin: dict[str, str] = {}
    for entry in registry.CHOICES:
        addresses = {entry.address.replace("*", pair): None for pair in pairs}  # one for all, or one a pair
        for address in addresses:
            written = at(document, address)
            if written is not None:
                choices[address], origin[address] = option(address, written, entry.options), "yours"
            elif entry.default is not None:
                choices[address], origin[address] = entry.default, "default"
    choices["magnet.kind"] = _magnet_kind(document)
    for address, need in _needs_of_choices(choices, pairs).items():
        if need.needed and address not in choices:
            raise StudyError(f'missing key "{address}"{need.reason}', address)
        if need.misfit and origin.get(address) == "yours":
            raise StudyError(f'"{address}" does not fit: {need.misfit}', address)
        if need.misfit:
            choices.pop(address, None)
            origin.pop(address, None)
    _check_sources(choices, pairs)
    return choices, origin


def option(address: str, written: str, options: tuple[str, ...]) -> str:
    """Return a word if it is among the options; a choice without options takes any text."""
    if not options or written in options:
        return written
    guess = registry.nearest(written, options)
    hint = f'did you mean "{guess}"?' if guess else f"known: {', '.join(options)}"
    raise StudyError(f'{address}: unknown {address.rpartition(".")[2]} "{written}": {hint}', address)


def _magnet_kind(document: Document) -> str:
    magnet = document.get("magnet", {})
    kinds = {"field": "uniform", "blocks": "blocks", "profile": "profile"}
    stated = [key for key in kinds if key in magnet]
    if not stated:
        raise StudyError(
            'missing key "magnet.field" (or a table [magnet.blocks] or [magnet.profile])', "magnet.field"
        )
    if len(stated) > 1:
        raise StudyError(f"magnet: give one of {' and '.join(stated)}, not both", "magnet")
    return kinds[stated[0]]


def _needs_of_choices(choices: Mapping[str, str], pairs: tuple[str, ...]) -> dict[str, Need]:
    needs = {address: Need(True) for address in ("mode", "gas.fuel", "gas.oxidizer", "gas.seed")}
    for what in ("fuel", "oxidizer"):
        need = _custom(what, choices.get(f"gas.{what}"))
        needs[f"gas.custom_{what}.formula"] = need
        needs[f"gas.custom_{what}.phase"] = Need(False, misfit=need.misfit)
    needs["magnet.profile.file"] = Need(choices["magnet.kind"] == "profile")
    for pair in pairs:
        needs[f"electrodes.{pair}.source.kind"] = Need(True)
    return needs


def _custom(what: str, chosen: str | None) -> Need:
    if chosen == "custom":
        return Need(True, reason=f': gas.{what} is "custom"')
    return Need(False, misfit=f'gas.{what} is "{chosen}", not "custom"')


def _check_sources(choices: Mapping[str, str], pairs: tuple[str, ...]) -> None:
    mode = choices["mode"]
    wanted = registry.SOURCE_OF_MODE[mode]
    for pair in pairs:
        address = f"electrodes.{pair}.source.kind"
        if choices[address] != wanted:
            raise StudyError(
                f'{address}: a {choices[address]} does not fit the mode "{mode}", which takes a {wanted}',
                address,
            )


def check_alternatives(document: Document, choices: Mapping[str, str]) -> None:
    """Refuse both or neither of what a study states in one of two ways."""
    for first, second in ALTERNATIVES[1:]:
        if first.startswith("magnet.blocks") and choices["magnet.kind"] != "blocks":
            continue
        stated = [address for address in (first, second) if at(document, address) is not None]
        if not stated:
            raise StudyError(f'missing key "{first}" (or "{second}")', first)
        if len(stated) > 1:
            raise StudyError(f"give one of {first} and {second}, not both", first)


def need_of(quantity: Quantity, choices: Mapping[str, str]) -> Need:
    """Return whether the study must, may or must not state a numeric input."""
    head, _, last = quantity.address.rpartition(".")
    if quantity.address == "gas.oxidizer_concentration":
        if choices["gas.oxidizer"] == "hydrogen peroxide":
            return Need(True, reason=': the oxidizer is "hydrogen peroxide"')
        return Need(False, misfit=f'the oxidizer is "{choices["gas.oxidizer"]}"')
    if head in ("gas.custom_fuel", "gas.custom_oxidizer"):
        what = head.removeprefix("gas.custom_")
        need = _custom(what, choices[f"gas.{what}"])
        return Need(need.needed and last != "density", need.reason, need.misfit)
    if head.startswith("magnet"):
        return _need_of_magnet(quantity, head, choices["magnet.kind"])
    if head.endswith(".source"):
        return _need_of_source(last, choices[f"{head}.kind"])
    if head == "mass":
        return _need_of_mass(last, choices["magnet.kind"])
    return Need(quantity.default is None and head != "ambient")


def _need_of_magnet(quantity: Quantity, head: str, kind: str) -> Need:
    if head == "magnet":
        return Need(kind == "uniform")
    if head != f"magnet.{kind}":
        return Need(False, misfit=f"the study has no table [{head}]")
    optional = quantity.default is not None or quantity.address.endswith((".remanence", ".position"))
    return Need(not optional)


def _need_of_source(key: str, kind: str) -> Need:
    if kind == "supply":
        return Need(key == "voltage", reason=": a supply has one")
    if key == "resistance":
        return Need(True, reason=": a load has one")
    return Need(False, misfit=f"a {kind} has no {key.replace('_', ' ')}")


def _need_of_mass(key: str, kind: str) -> Need:
    if key == "magnet" and kind == "blocks":
        return Need(False, misfit="the mass of blocks follows from their size and mass.magnet_density")
    if key in ("magnet_density", "yoke_thickness", "yoke_density") and kind != "blocks":
        return Need(False, misfit="the study has no table [magnet.blocks]: state mass.magnet, yoke and all")
    return Need(False)
