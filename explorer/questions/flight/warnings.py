"""What a reader of a flight must be warned of: scenarios that don't fly, separation, warnings of the stage."""

from collections.abc import Iterator
from typing import Any, Final

from explorer import registry
from explorer.page.words import listed, percent
from explorer.questions.flight.flight import Flight

#: Share of the scenarios from which on a warning, or what goes wrong, is worth a sentence [-].
_WORTH_SAYING: Final = 0.01

#: How far the plain engine's flow may lie from the stage model's before it is said [-].
_FLOW_ROOM: Final = 0.05


def warnings_of(found: Flight) -> tuple[str, ...]:
    """Return what a reader must be warned of: scenarios that don't fly, separation, warnings of the stage."""
    return tuple(_warnings(found))


def _warnings(found: Flight) -> Iterator[str]:
    yield from _outcomes(found)
    if abs(found.flow_ratio - 1.0) > _FLOW_ROOM:
        yield (
            f"The plain engine's flow is {percent(found.flow_ratio, 3)} of what the stage model burns with the same"
            " chamber and throat: one of flight.engine_flow, nozzle.throat_diameter and gas.chamber_pressure is off."
        )
    for phase, row in found.separated.iterrows():
        yield _separation(str(phase), {str(key): value for key, value in row.items()})
    worth = found.warnings[found.warnings["share"] >= _WORTH_SAYING]
    for code in dict.fromkeys(worth["code"]):
        rows = worth[worth["code"] == code].to_dict("records")
        where = listed([f"{row['phase']} ({percent(row['share'])} of flights)" for row in rows])
        title = str(rows[0]["title"])
        yield f"In {where}: {title}. {rows[0]['sentence']}"


def _outcomes(found: Flight) -> Iterator[str]:
    lost = float(found.outcomes["with"]["no_number"])
    if lost > 0:
        yield f"In {percent(lost)} of the scenarios the stage carries no number; they are left out and counted."
    for case in ("without", "with"):
        for outcome, words in (
            ("never_left", "never leaves the pad"),
            ("fell_back", "falls back before burn-out"),
        ):
            share = float(found.outcomes[case][outcome])
            if share > 0:
                counts = "; that counts as not paying, and has no apogee" if case == "with" else ""
                yield f"In {percent(share)} of the scenarios the vehicle {words} {case} the stage{counts}."


def _separation(phase: str, row: dict[str, Any]) -> str:
    altitude = registry.quantity("ambient.altitude")
    where = (
        f" up to {altitude.shown(row['up_to'], 3)} at central values" if row["up_to"] == row["up_to"] else ""
    )
    return (
        f"In {phase} the flow likely separates at the stage's exit{where}, in {percent(row['share'])} of flights (exit"
        " pressure under 0.4 of ambient, common practice): there its thrust is told too low; a smaller exit.area_ratio"
        " or a start higher up keeps the model in its range."
    )
