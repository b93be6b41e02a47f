"""Where a behaviour works: the newest tries at each place, and no more certainty than they have."""

from datetime import UTC, datetime, timedelta

import pytest

from pupilage.core.catalogue.behaviour import Place
from pupilage.core.catalogue.loading import load_bundled
from pupilage.core.handover.places import LATELY, PlaceCount, Standing, count_by_place
from pupilage.core.training.record.evidence import Outcome, SessionKind, Trial

SIT = load_bundled().behaviours["sit"]
START = datetime(2026, 5, 3, 9, tzinfo=UTC)


def tries(step, outcomes, first=0):
    letters = {"m": Outcome.MET, "x": Outcome.MISSED, "h": Outcome.HELPED, "v": Outcome.VOID}
    return [
        Trial(f"{first + i}", "s", START + timedelta(seconds=first + i), "sit", step, letters[o], SessionKind.TRAINING)
        for i, o in enumerate(outcomes)
    ]


def by_place(trials, target="garden-visitor"):
    return {one.place: one for one in count_by_place(SIT, target, trials)}


def test_behaviour_that_was_never_tried_names_every_place_of_the_way_as_not_tried():
    found = by_place([])
    assert set(found) == {Place.QUIET_ROOM, Place.HOME, Place.GARDEN}
    assert {one.standing for one in found.values()} == {Standing.NEVER}


def test_helped_counts_as_not_met_and_void_not_at_all():
    found = by_place(tries("word", "mmhvx"))[Place.QUIET_ROOM]
    assert (found.n_met, found.n) == (2, 4)


def test_only_the_newest_tries_of_a_place_count():
    found = by_place(tries("word", "x" * 30 + "m" * LATELY))[Place.QUIET_ROOM]
    assert (found.n_met, found.n) == (LATELY, LATELY)


@pytest.mark.parametrize(
    ("n_met", "n", "standing"),
    [
        (8, 10, Standing.WORKS),
        (7, 10, Standing.UNSURE),
        (9, 9, Standing.UNSURE),
        (4, 4, Standing.FEW),
        (0, 0, Standing.NEVER),
    ],
)
def test_place_works_at_8_of_10_and_never_from_fewer(n_met, n, standing):
    assert PlaceCount(Place.HOME, n_met, n).standing is standing


def test_hardest_step_met_at_a_place_is_named():
    found = by_place(tries("gesture", "mm") + tries("word", "mxm", 10))
    assert found[Place.QUIET_ROOM].step == "word"


def test_step_that_the_catalogue_no_longer_has_is_passed_over():
    assert by_place(tries("gone", "mmm"))[Place.QUIET_ROOM].n == 0


def test_place_beyond_the_goal_is_there_only_when_it_was_tried():
    assert Place.GARDEN not in by_place([], target="other-rooms")
    assert Place.GARDEN in by_place(tries("garden", "m"), target="other-rooms")
