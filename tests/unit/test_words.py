"""Sentences and errors."""

import pytest

from pupilage.core.access import Actor, Role
from pupilage.core.errors import Conflict, Forbidden, InvalidInput, NotEnoughYet, Problem
from pupilage.core.words import sentence


def test_sentence_reads_as_english_without_a_translator() -> None:
    assert str(sentence("{met} of {n} met.", met=4, n=5)) == "4 of 5 met."


def test_sentence_is_translated_before_its_figures_are_filled_in() -> None:
    german = {"{met} of {n} met.": "{n} Versuche, {met} gelungen."}
    assert sentence("{met} of {n} met.", met=4, n=5).translated(german.__getitem__) == "5 Versuche, 4 gelungen."


def test_sentence_without_figures_may_hold_braces() -> None:
    assert str(sentence("Use {} as it is.")) == "Use {} as it is."


def test_invalid_input_carries_every_problem() -> None:
    error = InvalidInput([Problem("a", "{n} is too much.", n=7), Problem("b", "Missing.")])
    assert str(error) == "a: 7 is too much.\nb: Missing."
    assert [problem.where for problem in error.problems] == ["a", "b"]


def test_not_enough_yet_says_what_it_has_and_needs() -> None:
    assert str(NotEnoughYet("a forecast", 3, 8)) == "Not enough yet for a forecast: have 3, need 8."


def test_error_keeps_its_template_for_translation() -> None:
    assert Conflict("Ended at {at}.", at="10:00").sentence.template == "Ended at {at}."


def test_reader_is_refused_and_the_others_are_not(some_actor: Actor) -> None:
    some_actor.require_write()
    with pytest.raises(Forbidden, match="may read here"):
        Actor(some_actor.user_id, some_actor.workspace_id, Role.READER, "UTC").require_write()


@pytest.fixture
def some_actor() -> Actor:
    from uuid import uuid4

    return Actor(uuid4(), uuid4(), Role.TRAINER, "Europe/Lisbon")


def test_a_day_among_the_figures_is_written_for_people_and_kept_as_an_iso_string() -> None:
    said = sentence("Days off: {days}.", days="2026-05-22, 2026-05-23")
    assert str(said) == "Days off: Fri 22 May, Sat 23 May."
    assert said.figures == {"days": "2026-05-22, 2026-05-23"}
    assert str(sentence("No day: {day}.", day="2026-02-31")) == "No day: 2026-02-31."
    assert str(Problem("day", "{day} is over.", day="2026-05-01")) == "day: 2026-05-01 is over."
