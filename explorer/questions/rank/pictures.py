"""The pictures of a ranking, by name."""

from matplotlib.figure import Figure

from explorer import registry
from explorer.page.bars import ranking_figure
from explorer.questions.rank.measurements_picture import measurements_figure
from explorer.questions.rank.ranking import Ranking
from explorer.questions.rank.tables import input_scale, picture_rows, target_words
from explorer.questions.rank.target_picture import MOST_INPUTS, inputs_figure, target_figure


def ranking_pictures(ranking: Ranking) -> dict[str, Figure]:
    """Return the pictures: target, ranking, inputs, and measurements where there are any."""
    words, scale = target_words(ranking), registry.quantity(ranking.target).scale
    points, found = ranking.picture, ranking.distribution
    stated = ranking.study.target if ranking.study is not None and ranking.chance_met is not None else None
    at_least, at_most = (None, None) if stated is None else (stated.at_least, stated.at_most)
    interval = (float(found.low.value), float(found.high.value))
    values = points[ranking.target].to_numpy()
    figures = {
        "target": target_figure(values, interval, words, scale, at_least=at_least, at_most=at_most),
        "ranking": ranking_figure(picture_rows(ranking), words),
    }
    scales = {str(name): input_scale(ranking, str(name)) for name in points.columns[1 : 1 + MOST_INPUTS]}
    known = {name: own for name, own in scales.items() if own is not None}
    if known:
        figures["inputs"] = inputs_figure(points, words, scale, known, at_least=at_least, at_most=at_most)
    measurements = ranking.learning.measurements
    if measurements is not None:
        figures["measurements"] = measurements_figure(
            measurements.table, float(measurements.now.value), words, scale
        )
    return figures
