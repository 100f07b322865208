"""Every numeric input that a study has: as written, by default, or as its words say."""

from collections.abc import Mapping
from typing import Any, Final

from explorer import registry
from explorer.space import Rectangular, Uncertain
from explorer.studyfile.document import Document, at
from explorer.studyfile.inputs.needs import need_of
from explorer.studyfile.values import value

Known = Mapping[str, tuple[object, float | Uncertain]]  #: by address, what was written and how it was read

WITHOUT_SEED: Final = {"gas.seed_fraction": 0.0, "gas.seed_water": 0.0, "gas.seed_vaporized": 1.0}


def known_values(
    document: Mapping[str, Any], values: Mapping[str, float | Uncertain], origin: Mapping[str, str]
) -> Known:
    """Return what a document states and how it was read."""
    return {
        address: (at(document, address), read)
        for address, read in values.items()
        if origin.get(address) == "yours"
    }


def values_of(
    document: Document,
    choices: Mapping[str, str],
    pairs: tuple[str, ...],
    origin: dict[str, str],
    notes: list[str],
    known: Known,
) -> dict[str, float | Uncertain]:
    """Return every numeric input that the study has, and fill in who says so."""
    values: dict[str, float | Uncertain] = {}
    for address in registry.inputs_of(pairs):
        quantity, written = registry.quantity(address), at(document, address)
        if choices["gas.seed"] == "none" and address in WITHOUT_SEED:
            if written is not None:
                notes.append(f'{address} is not used: gas.seed is "none"')
            values[address], origin[address] = WITHOUT_SEED[address], "default"
            continue
        need = need_of(quantity, choices)
        need.check(address, stated=written is not None)
        if written is not None:
            before, read = known.get(address, (None, 0.0))
            if before != written:
                read = value(address, written, quantity)
            values[address], origin[address] = read, "yours"
        elif address == "magnet.blocks.remanence" and "magnet.blocks.grade" in choices:
            values[address], origin[address] = _remanence_of_grade(choices["magnet.blocks.grade"]), "assumed"
        elif quantity.default is not None and not need.misfit:
            values[address], origin[address] = quantity.default, quantity.default_origin or "default"
    return values


def _remanence_of_grade(grade: str) -> Uncertain:
    """Return a grade's remanence: anywhere within what makers promise."""
    from explorer.physics.magnet import GRADES  # with magpylib, which a study without blocks does not need

    limits = GRADES[grade]
    return Uncertain(
        "magnet.blocks.remanence", unknown=Rectangular(limits.lowest_remanence, limits.highest_remanence)
    )
