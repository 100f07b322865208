"""The words that a study chooses."""

from collections.abc import Mapping

from explorer import registry
from explorer.studyfile.document import ALTERNATIVES, Document, at
from explorer.studyfile.error import StudyError, refusal
from explorer.studyfile.inputs.needs import Need, custom
from explorer.studyfile.inputs.stated_gas import gas_words, need_of_gas
from explorer.studyfile.names import option


def choices_of(document: Document, pairs: tuple[str, ...]) -> tuple[dict[str, str], dict[str, str]]:
    """Return the words that the study chose, by address, and who says so."""
    choices: dict[str, str] = {}
    origin: dict[str, str] = {}
    following = gas_words(document)
    for entry in registry.CHOICES:
        for address in dict.fromkeys(entry.address.replace("*", pair) for pair in pairs):
            written = at(document, address)
            if written is not None:
                word = following.get(address) or option(address, written, entry.options)
                choices[address], origin[address] = word, "yours"
            elif address in following:
                choices[address], origin[address] = following[address], "default"
            elif entry.default is not None:
                choices[address], origin[address] = entry.default, "default"
    choices["magnet.kind"] = _magnet_kind(document)
    _settle_ionization(document, choices, origin)
    choices |= {address: word for address, word in following.items() if address == "gas.kind"}
    needs = _needs_of_choices(choices, pairs)
    special = {address: need_of_gas(address, choices, document) for address in (*needs, "gas.components_by")}
    for address, need in {**needs, **{a: need for a, need in special.items() if need}}.items():
        need.check(address, stated=origin.get(address) == "yours")
        if need.misfit and address not in following:
            choices.pop(address, None)
            origin.pop(address, None)
    _check_sources(choices, pairs)
    _check_alternatives(document, choices)
    return choices, origin


def _settle_ionization(document: Document, choices: dict[str, str], origin: dict[str, str]) -> None:
    """Let electrons relax where the study has a pre-ioniser; where it says nothing of them it holds no word of it."""
    address = "gas.ionization"
    if "preionizer" not in document:
        if origin[address] == "default":
            del choices[address], origin[address]
        return
    if origin[address] == "yours" and choices[address] == "equilibrium":
        raise refusal(
            address,
            'electrons in "equilibrium" forget a pre-ioniser at once: take "relaxing", or leave out [preionizer]',
        )
    choices[address], origin[address] = "relaxing", "yours"


def _magnet_kind(document: Document) -> str:
    magnet = document.get("magnet", {})
    kinds = {"field": "uniform", "blocks": "blocks", "profile": "profile"}
    stated = [key for key in kinds if key in magnet]
    if not stated:
        raise StudyError(
            'missing key "magnet.field" (or a table [magnet.blocks] or [magnet.profile])', "magnet.field"
        )
    if len(stated) > 1:
        raise refusal("magnet", f"give one of {' and '.join(stated)}, not both")
    return kinds[stated[0]]


def _needs_of_choices(choices: Mapping[str, str], pairs: tuple[str, ...]) -> dict[str, Need]:
    needs = {address: Need(True) for address in ("mode", "gas.fuel", "gas.oxidizer", "gas.seed")}
    for what in ("fuel", "oxidizer"):
        need = custom(what, choices.get(f"gas.{what}"))
        needs[f"gas.custom_{what}.formula"] = need
        needs[f"gas.custom_{what}.phase"] = Need(False, misfit=need.misfit)
    needs["magnet.profile.file"] = Need(choices["magnet.kind"] == "profile")
    for pair in pairs:
        needs[f"electrodes.{pair}.source.kind"] = Need(True)
        pulsed = choices.get(f"electrodes.{pair}.source.kind") in registry.PULSED_SOURCES
        breaks_down = pulsed or choices[f"electrodes.{pair}.layer"] == "computed"
        granted = (
            "" if breaks_down else "with stated layers and a supply or load striking is taken for granted"
        )
        needs[f"electrodes.{pair}.shape"] = Need(False, misfit=granted)
    return needs


def _check_sources(choices: Mapping[str, str], pairs: tuple[str, ...]) -> None:
    mode = choices["mode"]
    wanted = registry.SOURCE_OF_MODE[mode]
    for address in (f"electrodes.{pair}.source.kind" for pair in pairs):
        kind = choices[address]
        if kind != wanted and (mode == "extraction" or kind not in registry.PULSED_SOURCES):
            takes = "a load" if mode == "extraction" else "a supply, a coil or a capacitor"
            raise refusal(address, f'a {kind} does not fit the mode "{mode}", which takes {takes}')


def _check_alternatives(document: Document, choices: Mapping[str, str]) -> None:
    """Refuse both or neither of what a study states in one of two ways."""
    for first, second in ALTERNATIVES[1:]:
        if first.startswith("magnet.blocks") and choices["magnet.kind"] != "blocks":
            continue
        stated = [address for address in (first, second) if at(document, address) is not None]
        if not stated:
            raise StudyError(f'missing key "{first}" (or "{second}")', first)
        if len(stated) > 1:
            raise StudyError(f"give one of {first} and {second}, not both", first)
