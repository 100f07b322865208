"""Every numeric input that a study has: as written, by default, or as its words say."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Final

from explorer import registry
from explorer.physics.contact.breakdown import ELECTRODE_SHAPES
from explorer.physics.contact.materials import materials
from explorer.registry import Quantity
from explorer.space import Rectangular, Uncertain
from explorer.studyfile.document import Document, at
from explorer.studyfile.error import StudyError, refusal
from explorer.studyfile.inputs.choices import choices_of
from explorer.studyfile.inputs.gauge import absolute_words
from explorer.studyfile.inputs.needs import need_of, need_of_table
from explorer.studyfile.inputs.stated_gas import FED, is_fed, need_of_gas, settled_by
from explorer.studyfile.values import value

Known = Mapping[str, tuple[object, float | Uncertain]]  #: by address, what was written and how it was read

WITHOUT_SEED: Final = {"gas.seed_fraction": 0.0, "gas.seed_water": 0.0, "gas.seed_vaporized": 1.0}


@dataclass(frozen=True)
class Given:
    """What a document gives of its inputs."""

    document: Document
    choices: Mapping[str, str]  #: words by address
    values: Mapping[str, float | Uncertain]  #: numbers by address [SI]
    origin: Mapping[str, str]  #: who says them: "yours", "default" or "assumed"

    @cached_property
    def known(self) -> Known:
        """What the document states of its numbers, and how it was read."""
        return {
            address: (at(self.document, address), read)
            for address, read in self.values.items()
            if self.origin.get(address) == "yours"
        }


def given_by(document: Document, pairs: tuple[str, ...], notes: list[str], known: Known) -> Given:
    """Return the words of a document and every number that they call for; what is known is not read again."""
    choices, origin = choices_of(document, pairs)
    values: dict[str, float | Uncertain] = {}
    settled, fed = settled_by(choices), is_fed(choices)
    for address in registry.inputs_of(pairs):
        quantity, written = registry.quantity(address), at(document, address)
        if choices["gas.seed"] == "none" and address in WITHOUT_SEED and not (fed and address in FED):
            if written is not None:
                notes.append(f"{registry.words_of(address)} is not used: there is no seed")
            values[address], origin[address] = WITHOUT_SEED[address], "default"
            continue
        need = (
            need_of_gas(address, choices, document)
            or need_of_table(address, document)
            or need_of(quantity, choices)
        )
        need.check(address, stated=written is not None)
        if need.unused:
            if written is not None:
                notes.append(f"{registry.words_of(address)} is not used: {need.unused}")
            continue
        if address in settled:
            values[address], origin[address] = settled[address], "default"
            continue
        if written is not None:
            before, read = known.get(address, (None, 0.0))
            if before != written:
                read = _read(address, written, quantity, document)
            values[address], origin[address] = read, "yours"
        elif need.misfit:
            continue
        elif (of_word := _value_of_word(address, choices)) is not None:
            values[address], origin[address] = of_word, "assumed"
        elif quantity.default is not None:
            values[address], origin[address] = quantity.default, quantity.default_origin or "default"
    return Given(document, choices, values, origin)


def _read(address: str, written: object, quantity: Quantity, document: Document) -> float | Uncertain:
    try:
        return value(address, written, quantity)
    except StudyError as error:
        words = absolute_words(address, written, quantity, document)
        if words is None:
            raise
        raise refusal(address, words) from error


def _value_of_word(address: str, choices: Mapping[str, str]) -> float | Uncertain | None:
    """Return what the study's words say of an input that it doesn't state: a magnet's grade, electrodes' material."""
    head, _, key = address.rpartition(".")
    if address == "magnet.blocks.remanence" and "magnet.blocks.grade" in choices:
        return _remanence_of_grade(choices["magnet.blocks.grade"])
    if key == "shape_factor" and f"{head}.shape" in choices:
        low, high = ELECTRODE_SHAPES[choices[f"{head}.shape"]]
        return low if low == high else Uncertain(address, unknown=Rectangular(low, high))
    if f"{head}.material" not in choices:
        return None
    known = materials()[choices[f"{head}.material"]]
    if key == "erosion":
        return Uncertain(address, unknown=Rectangular(known.lowest_erosion, known.highest_erosion))
    return known.work_function if key == "work_function" else None


def _remanence_of_grade(grade: str) -> Uncertain:
    """Return a grade's remanence: anywhere within what makers promise."""
    from explorer.physics.magnet import GRADES  # with magpylib, which a study without blocks does not need

    limits = GRADES[grade]
    return Uncertain(
        "magnet.blocks.remanence", unknown=Rectangular(limits.lowest_remanence, limits.highest_remanence)
    )
