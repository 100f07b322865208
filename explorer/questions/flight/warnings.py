"""What a reader of a flight must be warned of: scenarios that don't fly, separation, warnings of the stage."""

from collections.abc import Iterator
from typing import Final

from explorer import registry
from explorer.page.words import listed, percent
from explorer.questions.flight.flight import Flight
from explorer.questions.flight.paths import Separation

#: Share of the scenarios from which on a warning is worth a sentence [-].
_WORTH_SAYING: Final = 0.01

#: How far the plain engine's flow may lie from the stage model's before it is said [-].
_FLOW_ROOM: Final = 0.05


def warnings_of(found: Flight) -> Iterator[str]:
    """Yield what a reader must be warned of: scenarios that don't fly, separation, warnings of the stage."""
    yield from _outcomes(found)
    if abs(found.flow_ratio - 1.0) > _FLOW_ROOM:
        yield (
            f"The plain engine's flow is {percent(found.flow_ratio, 3)} of what the stage model burns with the same"
            " chamber and throat: one of flight.engine_flow, nozzle.throat_diameter and gas.chamber_pressure is off."
        )
    for phase, separation in found.separations.items():
        yield _separation(phase, separation)
    worth = [warned for warned in found.stage_warnings if warned.share >= _WORTH_SAYING]
    for warning in dict.fromkeys(warned.warning for warned in worth):
        phases = [
            f"{warned.phase} ({percent(warned.share)} of flights)"
            for warned in worth
            if warned.warning == warning
        ]
        yield f"In {listed(phases)}: {warning.title}. {warning.sentence}"


def _outcomes(found: Flight) -> Iterator[str]:
    lost = found.ends["with"]["no_number"]
    if lost > 0:
        yield f"In {percent(lost)} of the scenarios the stage carries no number; they are left out and counted."
    for case, shares in found.ends.items():
        for outcome, words in (
            ("never_left", "never leaves the pad"),
            ("fell_back", "falls back before burn-out"),
        ):
            if shares[outcome] > 0:
                counts = "; that counts as not paying, and has no apogee" if case == "with" else ""
                yield (
                    f"In {percent(shares[outcome])} of the scenarios the vehicle {words} {case} the stage{counts}."
                )


def _separation(phase: str, found: Separation) -> str:
    altitude = registry.quantity("ambient.altitude")
    told = found.up_to == found.up_to
    where = f" up to {altitude.shown(found.up_to, 3)} at central values" if told else ""
    return (
        f"In {phase} the flow likely separates at the stage's exit{where}, in {percent(found.share)} of flights (exit"
        " pressure under 0.4 of ambient, common practice): there its thrust is told too low; a smaller exit.area_ratio"
        " or a start higher up keeps the model in its range."
    )
