"""The pictures of a path: the ladder, and the designs along it."""

import math
from collections.abc import Mapping

from matplotlib.figure import Figure

from explorer import registry
from explorer.page.designs import figures_of
from explorer.questions.scale.ladder_picture import Stage, ladder_figure
from explorer.questions.scale.path.scaling import Scaling
from explorer.questions.scale.path_pictures import Along, path_figure
from explorer.questions.scale.rows import border_name, interval, stages
from explorer.study.compared import SIMILARITY


def scaling_pictures(found: Scaling) -> Mapping[str, Figure]:
    """Return the ladder, and the path where it has a length."""
    figures = {"ladder": _ladder(found)}
    if found.path.has_length:
        figures["path"] = _path(found)
    return figures


def _ladder(found: Scaling) -> Figure:
    quantity, target = registry.quantity(found.target), found.path.second.target
    rows = [Stage(words, left, *interval(found, left)) for words, left, _ in stages(found)]
    return ladder_figure(
        rows,
        mean=float(found.trust.now.mean.value),
        target=f"{found.target} of {found.names[-1]}",
        scale=quantity.scale,
        at_least=target.at_least,
        at_most=target.at_most,
    )


def _path(found: Scaling) -> Figure:
    figures = {name: figures_of(found.quantities, name) for name in found.names}
    points = {} if found.ladder is None else {r.design: n for n, r in enumerate(found.ladder.rungs, start=1)}
    rows = [
        str(row)
        for row in found.quantities.index
        if str(row).rpartition(".")[2] in SIMILARITY
        and any(not math.isnan(figures[name][str(row)]["mean"]) for name in found.names)
    ]
    return path_figure(
        Along(
            names=found.names,
            places=found.places,
            sizes=found.sizes,
            points=points,
            changes=[(c.place, border_name(found, c.border.regime.name)) for c in found.changes if c.counts],
            switches=bool(found.path.switches),
        ),
        found.target,
        [figures[name][found.target] for name in found.names],
        {row: [figures[name][row]["mean"] for name in found.names] for row in rows},
    )
