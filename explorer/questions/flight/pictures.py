"""The pictures of a flight, by name."""

from matplotlib.figure import Figure

from explorer.page.bars import ranking_figure
from explorer.questions.flight.ascent_pictures import PhaseShown, ascent_figure, difference_figure
from explorer.questions.flight.flight import Flight
from explorer.questions.flight.names import MODE_WORDS, figures_of, plan_of, quantity_of
from explorer.questions.flight.tables import picture_rows

#: What the ranked bars are of.
DRIVEN = {
    "apogee": "the difference in apogee",
    "payable_mass": "the mass that acceleration pays for",
}


def flight_pictures(found: Flight) -> dict[str, Figure]:
    """Return the pictures: ascent, difference, and ranked bars of what drives it, where that could be told."""
    less = figures_of(found.differences, "apogee", "with")
    height, velocity = quantity_of("apogee").scale, quantity_of("burnout_velocity").scale
    phases = [
        PhaseShown(f"{phase.name}: {MODE_WORDS[phase.mode]}", phase.start, phase.end)
        for phase in plan_of(found.study).phases
    ]
    figures = {
        "ascent": ascent_figure(found.curves, phases, height, velocity),
        "difference": difference_figure(found.differences_of_apogee, (less["low"], less["high"]), height),
    }
    for name, table in found.drivers.items():
        figures[f"drivers-{name}"] = ranking_figure(picture_rows(table), DRIVEN[name])
    return figures
