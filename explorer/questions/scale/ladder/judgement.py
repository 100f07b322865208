"""What a ladder of firings leaves, and whether it is worth climbing.

Ever more firings of the first design are taken as made. A step is fired once, and so is the last design where it is
fired to be read, all read by the first design's instruments. What readings leave of the last design's target is told
by regression over the common sample, as of measurements; they teach through what designs share and through the common
part of the model's error. The steps are chosen on points of their own (`choice`), and judged here on others.
"""

from collections.abc import Sequence
from itertools import pairwise
from typing import Final

import numpy as np
from numpy.typing import NDArray
from threadpoolctl import threadpool_limits

from explorer.analysis.scrambles import estimate, root
from explorer.questions.scale.ladder.choice import Choice, choice, price, worthwhile
from explorer.questions.scale.ladder.ladder import Candidate, Firing, Ladder, Plan
from explorer.questions.scale.ladder.readings import Chosen, Placed, Read, beyond_range, read_along
from explorer.questions.scale.path.crossings import Change, changes_between
from explorer.questions.scale.path.designs import Waypoint
from explorer.questions.scale.path.sample import Sample
from explorer.studyfile import ASSUMED_WORTH, Amount, Instrument

FloatArray = NDArray[np.float64]

#: What a step must take away of the target's standard uncertainty to be worth it, where nothing is stated.
WORTH: Final = Amount(relative=ASSUMED_WORTH)


def judged_ladder(
    choosing: Sample,
    judging: Sample,
    designs: Sequence[Waypoint],
    changes: Sequence[Change],
    worth: Amount | None = None,
) -> Ladder:
    """Whether some designs of a path are worth firing, chosen on one sample and judged on another."""
    # Many small systems: more threads only wait for each other.
    with threadpool_limits(limits=1, user_api="blas"):
        read = read_along(judging, designs)
        least = (WORTH if worth is None else worth).at(float(np.sqrt(read.in_full(())[:, 0].mean())))
        picked = choice(read_along(choosing, designs), designs, changes, least)
        plan = judged(read, designs, picked, least)
        climbed = plan.numbers if plan is not None and plan.climb == "worth climbing" else ()
        rungs = [
            _firing(judging, read, changes, designs, (0, *climbed[: count + 1]))
            for count in range(len(climbed))
        ]
        last = designs[-1].number
        return Ladder(
            now=root(estimate(read.in_full(())[:, 0])),
            after_first=root(estimate(read.in_full((0,))[:, 0])),
            fired=_firing(judging, read, changes, designs, (0, last)) if last in read.columns else None,
            worth=least,
            worth_assumed=worth is None,
            plan=plan,
            level=picked.level,
            rungs=tuple(rungs),
            steps=tuple(_candidate(read, designs[k], changes) for k in read.columns if 0 < k < last),
            tried=picked.tried,
            unreached=picked.unreached,
            shared_left=_shared_left(read, climbed),
            lost=read.lost,
        )


def tried_with(
    samples: tuple[Sample, Sample],
    designs: Sequence[Waypoint],
    changes: Sequence[Change],
    worth: float,
    instruments: Sequence[Instrument] | None = None,
) -> Plan | None:
    """The best set of steps with other instruments or on other samples, to choose by and to judge by."""
    with threadpool_limits(limits=1, user_api="blas"):
        by, read = (read_along(sample, designs, instruments) for sample in samples)
        return judged(read, designs, choice(by, designs, changes, worth), worth)


def judged(read: Read, designs: Sequence[Placed], picked: Choice, worth: float) -> Plan | None:
    """The set that was chosen, on points that had no part in it."""
    if picked.best is None:
        return None
    chosen, cost = picked.best.numbers, picked.best.cost
    first, after = read.in_full((0,))[:, 0], read.in_full((0, *chosen))[:, 0]
    last = designs[-1]
    fired = (first, read.in_full((0, last.number))[:, 0]) if last.number in read.columns else None
    lefts = [read.in_full((0, *chosen[:count]))[:, 0] for count in range(len(chosen) + 1)]
    return Plan(
        designs=picked.best.designs,
        cost=cost,
        left=root(estimate(after)),
        removed=estimate(first - after),
        gain=estimate(first - after - price(fired, last.cost) * cost),
        worthwhile=picked.best.worthwhile
        and all(worthwhile(a, b, worth, surely=False) for a, b in pairwise(lefts)),
        dear=picked.best.dear,
    )


def _firing(
    sample: Sample, read: Read, changes: Sequence[Change], designs: Sequence[Waypoint], fired: Chosen
) -> Firing:
    """The last of the designs fired."""
    before, after = (read.in_full(own)[:, 0] for own in (fired[:-1], fired))
    previous, design = (designs[number] for number in fired[-2:])
    instruments = sample.instruments
    base = read.quickly(fired[:-1]).mean()
    through = {
        instrument.name: float(base - read.sets.left([*read.taken(fired[:-1]), column])[:, 0].mean())
        for instrument, column in zip(instruments, read.columns[design.number], strict=True)
    }
    own = sample.fired if design is designs[-1] else sample.found[design.number].quantities
    return Firing(
        design=design,
        left=root(estimate(after)),
        removed=estimate(before - after),
        changes=changes_between(changes, previous.place, design.place),
        through=through,
        beyond=beyond_range(own, instruments),
        warnings=sample.warnings_fired() if design is designs[-1] else design.warnings,
    )


def _candidate(read: Read, design: Waypoint, changes: Sequence[Change]) -> Candidate:
    after = read.in_full((0, design.number))[:, 0]
    removed = read.in_full((0,))[:, 0] - after
    return Candidate(
        design=design,
        left=root(estimate(after)),
        removed=estimate(removed),
        per_cost=estimate(removed / design.cost),
        changes=len(changes_between(changes, 0.0, design.place)),
    )


def _shared_left(read: Read, climbed: Chosen) -> dict[str, tuple[float, ...]]:
    stages = [(), *((0, *climbed[:count]) for count in range(len(climbed) + 1))]
    steps = [read.in_full(own)[:, 1:].mean(axis=0) for own in stages]
    shares = np.sqrt(np.maximum([step / steps[0] for step in steps], 0.0))
    return {name: tuple(map(float, own)) for name, own in zip(read.factors, shares.T, strict=True)}
