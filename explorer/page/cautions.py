"""What stands at the foot of every printed result."""

from typing import Final

from explorer.page.document import Paragraph, Section

CAUTIONS: Final[tuple[str, ...]] = (
    "High voltage and stored energy, strong magnets, oxidisers and hot firings kill.",
    "These are predictions with limits: quasi-one-dimensional, steady, in equilibrium, checked against no firing of"
    " yours.",
    "Local codes, range rules and licensed practice come first.",
)


def cautions() -> Section:
    """Return the cautions as a section."""
    return Section("Caution", (Paragraph(" ".join(CAUTIONS)),))
