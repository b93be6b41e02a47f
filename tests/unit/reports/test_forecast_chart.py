"""The drawing of forecasts beside what came: what it holds and what it says."""

import altair as alt

from pupilage.core.evaluation.forecast_scores import Told, score
from pupilage.reports.charts.forecasts import draw_calibration
from pupilage.reports.charts.svg import svg_of

FAIR = [Told(0.1, n < 1, str(n % 5)) for n in range(10)] + [Told(0.9, n < 9, str(n % 5)) for n in range(10)]
OFF = [Told(0.9, n < 2, str(n % 5)) for n in range(20)]


def test_drawing_is_valid_and_holds_a_dot_for_each_bin():
    chart = draw_calibration(score(FAIR))
    alt.LayerChart.from_dict(dict(chart.spec))
    assert svg_of(chart).startswith("<svg")
    assert "no fifth of the chances differs" in str(chart.says)


def test_worst_fifth_is_named_with_its_limits():
    says = str(draw_calibration(score(OFF)).says)
    assert says.startswith("Where about 90\N{NO-BREAK SPACE}% was told, 2 of 20 came (1\N{NO-BREAK SPACE}%")
