"""The picture of a comparison."""

import math
from typing import Final

from matplotlib.figure import Figure

from explorer.page.designs import figures_of, short_names
from explorer.questions.compare.comparison import Comparison
from explorer.questions.compare.comparison_picture import comparison_figure
from explorer.questions.compare.words import is_mixed, key_rows

#: Outcomes drawn beside the studies' targets.
_DRAWN: Final = (
    "thrust_gain",
    "relative_thrust_gain",
    "thrust_per_power",
    "current",
    "electrical_power",
    "power_delivered",
    "stage_mass",
    "thrust_gain_per_mass",
)


def comparison_picture(found: Comparison) -> Figure | None:
    """Return outcomes and masses that differ, of the firings that make contact where that is not sure."""
    mixed = is_mixed(found)
    quantities = found.given_contact if mixed else found.quantities
    differences = found.differences_given_contact if mixed else found.differences
    designs = {name: figures_of(quantities, name) for name in found.names}
    others = {name: figures_of(differences, name) for name in found.names[1:]}
    asked = [study.target.quantity for study in found.studies]
    wanted = [row for row in dict.fromkeys((*asked, *_DRAWN)) if row in key_rows(found)]
    told = [row for row in wanted if any(not math.isnan(own[row]["mean"]) for own in designs.values())]
    differ = [
        row for row in told if any(own[row]["verdict"] not in ("", "the same") for own in others.values())
    ]
    if not differ:
        return None
    rows = [row for row in told if row in differ or row in asked]
    return comparison_figure(
        list(short_names(found.names).values()),
        {row: [designs[name][row] for name in found.names] for row in rows},
        {row: [others[name][row] for name in found.names[1:]] for row in rows},
    )
