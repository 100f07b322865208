"""What of [vary] this study can vary: inputs that it has, over values and words that can stand in it."""

from collections.abc import Mapping
from typing import cast

from explorer import registry
from explorer.studyfile.document import ALTERNATIVES, at, replaced
from explorer.studyfile.error import StudyError, refusal
from explorer.studyfile.inherited import Inheritance
from explorer.studyfile.inputs.numbers import WITHOUT_SEED, Given, given_by
from explorer.studyfile.sections.search import Varied
from explorer.studyfile.values import moved


def still_varied(
    vary: tuple[Varied, ...], given: Given, replacements: Mapping[str, object], inherited: Inheritance
) -> tuple[Varied, ...]:
    """Return what can still be varied; what was set from outside no longer is, and notes say so."""
    without_seed = given.choices["gas.seed"] == "none" and "gas.seed" not in [item.address for item in vary]

    def kept(item: Varied) -> Varied | None:
        address, where = item.address, f"vary.{item.address}"
        if address in replacements:
            inherited.notes.append(set_note(address))
            return None
        missing = _missing(address, given)
        if without_seed and address in WITHOUT_SEED:
            missing = "there is no seed"
        if missing and inherited.holds("vary"):
            inherited.left_out(f"{registry.words_of(address)} is no longer varied: {missing}")
            return None
        if missing:
            raise refusal(where, missing)
        _check_values(item, where, given)
        return item

    return tuple(item for item in inherited.each("vary", vary, kept) if item is not None)


def made_exact_by(
    replacements: Mapping[str, object], vary: tuple[Varied, ...], choices: Mapping[str, str]
) -> set[str]:
    """Return what may be exact because of what was replaced: itself, or the shares of a seed now left out."""
    changed = {*replacements, *(item.address for item in vary if item.is_word)}
    without_seed = "gas.seed" in changed and choices["gas.seed"] == "none"
    return {*replacements, *(WITHOUT_SEED if without_seed else ())}


def set_note(address: str) -> str:
    """Return what a reader must know of a varied input that was set from outside."""
    return f"{registry.words_of(address)} is set, and no longer varied"


def _missing(address: str, given: Given) -> str:
    """Return why the study has no such input, "" where it has."""
    for group in ALTERNATIVES:
        if any(address == own or address.startswith(f"{own}.") for own in group):
            for other in group:
                if not address.startswith(other) and at(given.document, other) is not None:
                    return f"the study states {other} in its place"
    return "" if address in given.values or address in given.choices else "this study has no such input"


def _check_values(item: Varied, where: str, given: Given) -> None:
    """Refuse a value too near its bounds for its ±, and a word without the inputs that it calls for."""
    if item.is_word:
        for word in item.values:
            _check_word(item.address, str(word), where, given)
        return
    written, quantity = at(given.document, item.address), registry.quantity(item.address)
    if written is None:
        return
    for value in item.values or (item.low, item.high):
        to = float(cast(float, value))
        try:
            moved(item.address, written, to, quantity)
        except StudyError as error:
            words = str(error).removeprefix(f"{item.address}: ")
            raise refusal(where, f"at {quantity.shown(to)}, {words}") from error


def _check_word(address: str, word: str, where: str, given: Given) -> None:
    document = replaced(given.document, {address: word})
    try:
        given_by(document, tuple(document["electrodes"]), [], given.known)
    except StudyError as error:
        raise refusal(where, f'with "{word}", {error}') from error
