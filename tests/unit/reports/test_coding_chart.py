"""The drawing of two codings has both rows, joins what differs, and says how sure that is."""

import pytest

from pupilage.core.evaluation.codings import Mark, coding_of
from pupilage.core.evaluation.comparison import compare_codings
from pupilage.reports.charts.codings import draw_codings
from pupilage.reports.charts.svg import svg_of

ONE = coding_of("Wren", [Mark(5, "met"), Mark(15, "met"), Mark(25, "bark")], length_s=60)
OTHER = coding_of("Pia", [Mark(5.5, "met"), Mark(15.2, "missed")], length_s=60)


def layers_of(chart):
    return [chart.spec["datasets"][layer["data"]["name"]] for layer in chart.spec["layer"]]


def test_both_rows_stand_with_their_signs_and_differences_are_joined():
    joined, signs, names = layers_of(draw_codings(compare_codings(ONE, OTHER)))
    assert [(one["row"], one["sign"]) for one in signs] == [
        (1.0, "|"), (0.0, "|"), (1.0, "|"), (0.0, "–"), (1.0, "b"), (0.0, "○"),
    ]  # fmt: skip
    assert [one["at"] for one in joined] == [15, 25]
    assert [one["name"] for one in names] == ["Wren", "Pia"]


def test_sentence_says_how_many_differ_and_how_sure_that_is():
    # Clopper and Pearson's limits of 2 of 3: 9.4 to 99.2 %.
    says = str(draw_codings(compare_codings(ONE, OTHER)).says)
    assert says.startswith("They differ at 2 of 3 moments (dashed), likely 9\xa0% to over\xa099\xa0% of all")


def test_name_that_is_markup_is_drawn_as_text():
    chart = draw_codings(compare_codings(coding_of("<b>W</b>", [Mark(5, "met")]), OTHER))
    assert "<b>" not in svg_of(chart)


def test_nothing_is_drawn_where_neither_marked_anything():
    empty = coding_of("a", [], length_s=60)
    assert draw_codings(compare_codings(empty, empty)) is None


@pytest.mark.parametrize("length_s", [0.5, 7, 90, 3600, 40_000])
def test_every_length_is_drawn(length_s):
    chart = draw_codings(compare_codings(coding_of("a", [Mark(length_s, "met")], length_s=length_s), OTHER))
    assert svg_of(chart).startswith("<svg ")
