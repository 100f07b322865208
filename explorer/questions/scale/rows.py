"""What the designs of a path and the stages of a ladder are called, and how the target's interval narrows."""

from explorer import units
from explorer.questions.scale.path.scaling import Scaling


def point_name(number: int) -> str:
    """Return what a point of the ladder is called."""
    return f"point {number}"


def point_of(found: Scaling, design: int, name: str) -> str:
    """Return a design's name, with its place on the ladder where it has one: "step 5, point 2"."""
    if found.ladder is not None:
        for number, rung in enumerate(found.ladder.rungs, start=1):
            if rung.design == design:
                return f"{name}, {point_name(number)}"
    return name


def size_text(found: Scaling, design: int) -> str:
    """Return a design's size in words: "2.25 times bench's size"."""
    return f"{units.number_text(float(found.sizes[design]), 3)} times {found.names[0]}'s size"


def after_firing(found: Scaling, points: int) -> float:
    """Return the target's standard uncertainty after the first design's firings and some points [SI]."""
    if found.ladder is None:
        raise ValueError("there is no ladder")
    return float((found.ladder.rungs[points - 1].left if points else found.ladder.after_first).value)


def stages(found: Scaling) -> list[tuple[str, float, float]]:
    """Return how the target's standard uncertainty falls: what is known, what is left of it, its sampling error
    [SI].
    """
    now = found.trust.now.standard_uncertainty
    rows = [("now", float(now.value), float(now.standard_error))]
    if found.ladder is not None:
        first = found.ladder.after_first
        rows.append(
            (
                f"after {found.names[0]}'s firings",
                float(first.value),
                float(first.standard_error),
            )
        )
        rows += [
            (
                f"and after {point_name(number)}, {found.names[rung.design]}",
                float(rung.left.value),
                float(rung.left.standard_error),
            )
            for number, rung in enumerate(found.ladder.rungs, start=1)
        ]
    never = found.trust.never
    rows.append(("if all that both share were known", float(never.value), float(never.standard_error)))
    return rows


def interval(found: Scaling, left: float) -> tuple[float, float]:
    """Return the target's 95 % interval drawn in about its mean as far as its standard uncertainty falls [SI]."""
    now = found.trust.now
    mean, ratio = float(now.mean.value), left / float(now.standard_uncertainty.value)
    return mean + ratio * (float(now.low.value) - mean), mean + ratio * (float(now.high.value) - mean)


def border_name(found: Scaling, name: str) -> str:
    """Return what a border is called: a study's own limit by its quantity."""
    border = next(border for border in found.borders if border.regime.name == name)
    if border.limits is None:
        return name
    return f"limit on {border.regime.quantity.removeprefix('chance.')}"


def firings_text(found: Scaling, cost: float) -> str:
    """Return a cost in words: "5.1 firings of bench"."""
    many = units.number_text(cost, 2)
    return f"{many} {'firing' if many == '1' else 'firings'} of {found.names[0]}"
