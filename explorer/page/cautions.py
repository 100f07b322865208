"""What stands at the foot of every printed result."""

from typing import Final

from explorer import registry
from explorer.page.document import Paragraph, Section
from explorer.studyfile import Study

CAUTIONS: Final[tuple[str, ...]] = (
    "High voltage and stored energy, strong magnets, oxidisers and hot firings kill.",
    "These are predictions with limits: quasi-one-dimensional, steady, in equilibrium, checked against no firing of"
    " yours.",
    "Local codes, range rules and licensed practice come first.",
)

#: Where kilovolts or a charged capacitor are.
STORED: Final = (
    "Discharge what is stored and short it before anybody comes near; keep the distance, with interlocks. Above about"
    " 15 kV a gap in vacuum makes X-rays. Sparks disturb ignition and data lines."
)

#: The same in short.
STORED_BRIEF: Final = "Discharge and short what is stored before approach; sparks set off igniters."


def stores_energy(*studies: Study) -> bool:
    """Whether a coil or a capacitor feeds a pair of one of the studies."""
    return any(
        study.choices.get(f"electrodes.{pair}.source.kind") in registry.PULSED_SOURCES
        for study in studies
        for pair in study.pairs
    )


#: Where a pre-ioniser is.
PREIONIZER: Final = (
    "A pre-ioniser is a source of kilovolts, radio frequency or a beam: shield and screen it, measure what leaks out,"
    " and keep people, igniters and data lines away from it; licences for transmitters and for ionising radiation come"
    " first."
)

#: The same in short.
PREIONIZER_BRIEF: Final = (
    "Pre-ioniser: kilovolts, radio frequency or a beam: shield it, and keep people away."
)


def has_preionizer(*studies: Study) -> bool:
    """Whether one of the studies has a pre-ioniser."""
    return any("preionizer.power" in study.central() for study in studies)


def caution_sentences(*studies: Study) -> tuple[str, ...]:
    """Return the cautions, with those of kilovolts, capacitors and pre-ionisers where studies have them."""
    stored = (STORED,) if stores_energy(*studies) else ()
    preionizer = (PREIONIZER,) if has_preionizer(*studies) else ()
    return *CAUTIONS, *stored, *preionizer


def cautions(*studies: Study) -> Section:
    """Return the cautions as a section."""
    return Section("Caution", (Paragraph(" ".join(caution_sentences(*studies))),))
