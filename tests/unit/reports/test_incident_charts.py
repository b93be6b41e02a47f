"""The charts of an unwanted behaviour: what each says, what it shows as full, and that a thin record has none."""

import re
from datetime import UTC, datetime, timedelta

import altair as alt
import pytest

from pupilage.core.incidents.answers import Answers, answer
from pupilage.core.incidents.record import Before, Incident
from pupilage.core.incidents.since import Since
from pupilage.core.incidents.stretches import Stretch
from pupilage.reports.charts.chart import Chart
from pupilage.reports.charts.incidents import draw_incidents
from pupilage.reports.charts.svg import svg_of

START = datetime(2026, 5, 4, 6, tzinfo=UTC)


def free(n_days: int) -> list[Stretch]:
    return [Stretch(START + timedelta(days=d), START + timedelta(days=d, hours=14)) for d in range(n_days)]


def answers_of(hours: list[tuple[int, float]], n_days: int = 10) -> Answers:
    """Return the answers for incidents at (day, hour); food is in reach for two hours each morning, from waking on."""
    return answer(
        [Incident(f"{i}", "counter-stealing", START + timedelta(days=d, hours=h)) for i, (d, h) in enumerate(hours)],
        free=free(n_days),
        present={Before.IN_REACH: [Stretch(s.start, s.start + timedelta(hours=2)) for s in free(n_days)]},
        moments={Since.WAKING: [s.start for s in free(n_days)]},
        zone=UTC,
    )


def records(chart: Chart, column: str) -> list[dict]:
    """Return the drawn records that have a column."""
    return [record for data in chart.spec["datasets"].values() for record in data if column in record]


PLANTED = [(d, 0.1 + 0.05 * d) for d in range(8)] + [(8, 9.0), (9, 5.0)]


def test_antecedent_that_is_called_has_a_full_dot_and_is_named_in_the_sentence() -> None:
    chart = draw_incidents(answers_of(PLANTED), {"in-reach": "food in reach"}.__getitem__).before
    assert all(record["is_full"] for record in records(chart, "is_full"))
    assert "“food in reach” goes with 8 of 10" in str(chart.says)
    assert "8 of 10" in svg_of(chart)
    assert {"× 1", "× 4", "× 16"} <= set(re.findall(r">(× [^<]+)</text>", svg_of(chart)))
    assert "food in reach" in svg_of(chart)


def test_one_that_chance_may_have_made_has_an_open_dot() -> None:
    chart = draw_incidents(answers_of([(d, 2.5 * d % 14) for d in range(10)]), str).before
    assert not any(record["is_full"] for record in records(chart, "is_full"))
    assert "Nothing stands out from chance yet" in str(chart.says)


def test_change_is_a_step_with_the_days_it_lies_between() -> None:
    chart = draw_incidents(answers_of([(d, h) for d in range(8) for h in (2, 5, 9)], n_days=20), str).days
    before, after = sorted({record["rate"] for record in records(chart, "from") if "rate" in record}, reverse=True)
    assert before > 10 * after
    assert str(chart.says).startswith("Rarer since about 11 May")
    assert "over" in str(chart.says)  # the chance that there was a change


def test_without_a_change_the_band_is_what_fits_the_record() -> None:
    found = answers_of([(d, 2.5 * d % 14) for d in range(10)])
    chart = draw_incidents(found, str).days
    band = next(record for record in records(chart, "low"))
    assert (band["low"], band["high"]) == (10 * found.rate.low, 10 * found.rate.high)


def test_time_that_stands_out_is_the_full_dot_of_its_curve() -> None:
    chart = draw_incidents(answers_of([(d, 0.1) for d in range(8)] + [(8, 3.0), (9, 3.5)]), str).since[Since.WAKING]
    assert [one["slot"] for one in records(chart, "slot") if one["is_full"]][:1] == ["0–15"]
    assert "0 to 15 minutes after waking" in str(chart.says)


def test_specifications_are_vega_lites() -> None:
    charts = draw_incidents(answers_of([(d, h) for d in range(8) for h in (2, 5, 9)], n_days=20), str)
    for chart in (charts.before, charts.days, charts.times, *charts.since.values()):
        alt.LayerChart.from_dict(dict(chart.spec), validate=True)


@pytest.mark.parametrize("n", [0, 1, 4])
def test_thin_record_has_no_chart(n: int) -> None:
    charts = draw_incidents(answers_of([(d, 1.0) for d in range(n)]), str)
    assert (charts.before, charts.days, charts.times, dict(charts.since)) == (None, None, None, {})


def test_limit_beyond_the_axis_is_an_arrow() -> None:
    found = answers_of(PLANTED)
    chart = draw_incidents(found, str).since[Since.WAKING]
    for record in records(chart, "slot"):
        slot = next(one for one in found.since[Since.WAKING].slots if f"{one.start}–{one.end}" == record["slot"])
        assert record["is_cut"] == (10 * slot.rate.high > record["high"] + 1e-9)
