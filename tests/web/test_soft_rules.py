"""Every soft rule of the timetable can be weighed."""

from pupilage.core.planning.day.rules import DEFAULT_WEIGHTS, SoftRule
from pupilage.web.forms.day import RULE_WORDS


def test_every_soft_rule_has_words_and_a_weight_as_shipped() -> None:
    assert set(RULE_WORDS) == set(SoftRule) == set(DEFAULT_WEIGHTS)
