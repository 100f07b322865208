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


def cautions(*studies: Study) -> Section:
    """Return the cautions as a section, with those of kilovolts and capacitors where studies have them."""
    said = (*CAUTIONS, STORED) if stores_energy(*studies) else CAUTIONS
    return Section("Caution", (Paragraph(" ".join(said)),))
