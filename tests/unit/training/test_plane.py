"""The map of two dimensions: every cell is the engine's own reading, and it fades where nothing was tried."""

from dataclasses import replace

import pytest

from engine_cases import START, daily_trials, day, known_of
from pupilage.core.catalogue.loading import load_bundled
from pupilage.core.training.posterior.difficulty import Dimension
from pupilage.core.training.thresholds.chances import read_criterion
from pupilage.core.training.thresholds.plane import MOST_VALUES, PlaneCell, read_plane
from pupilage.core.training.thresholds.weighing import Weighed, weigh

STAY = load_bundled().behaviours["stay"]


def weighed(*sessions: tuple[int, str]) -> Weighed:
    trials = [t for n, (step, letters) in enumerate(sessions) for t in daily_trials(STAY, letters, step=step, day=n)]
    return weigh(known_of(trials, STAY), STAY, now=day(len(sessions)))


RECORD = weighed((0, "mmmmmmmm"), (1, "mmmmmmxm"), (2, "mmmmxmmm"), (2, "mmmmmmmm"))


def test_cell_is_the_reading_of_its_criterion() -> None:
    plane = read_plane(RECORD, 2)
    assert plane is not None
    assert len(plane.cells) == len(plane.x_values) * len(plane.y_values)
    own = STAY.steps[2].criterion
    names = {Dimension.DURATION: "duration_s", Dimension.DISTANCE: "distance_m", Dimension.DISTRACTION: "distraction"}
    for cell in plane.cells[:6]:
        asked = replace(own, **{names[plane.x]: cell.x, names[plane.y]: cell.y})
        reading = read_criterion(RECORD, asked, 2)
        assert (cell.p, cell.low, cell.high) == pytest.approx((reading.mean, *reading.interval()))


def test_every_try_stands_in_one_cell() -> None:
    plane = read_plane(RECORD, 2)
    assert plane is not None
    assert sum(cell.n for cell in plane.cells) == 32
    assert 1 <= plane.n_tried <= 3


def test_map_fades_away_from_what_was_tried() -> None:
    plane = read_plane(RECORD, 2)
    assert plane is not None
    tried = [cell.sharpness for cell in plane.cells if cell.n]
    far = [cell for cell in plane.cells if (cell.x, cell.y) == (plane.x_values[-1], plane.y_values[-1])]
    assert far[0].n == 0
    assert far[0].sharpness < min(tried)


def test_more_tries_sharpen_the_map_where_they_were_made() -> None:
    few, many = (read_plane(weighed(*[(1, "mmmxm")] * n), 1) for n in (1, 6))
    assert few is not None
    assert many is not None
    sharp = [next(cell.sharpness for cell in plane.cells if cell.n) for plane in (few, many)]
    assert sharp[0] < sharp[1]


def test_no_more_values_than_a_phone_carries_and_both_ends_among_them() -> None:
    for step in range(len(STAY.steps)):
        plane = read_plane(RECORD, step)
        assert plane is not None
        assert max(len(plane.x_values), len(plane.y_values)) <= MOST_VALUES
        listed = [one.criterion.duration_s for one in STAY.steps]
        if plane.x is Dimension.DURATION:
            assert {min(listed), max(listed)} <= set(plane.x_values)
            assert STAY.steps[step].criterion.duration_s in plane.x_values


def test_behaviour_of_one_dimension_has_no_map() -> None:
    from engine_cases import MAT

    trials = daily_trials(MAT, "mmmmmm", step=1)
    assert read_plane(weigh(known_of(trials, MAT), MAT, now=START), 1) is None


@pytest.mark.parametrize(
    ("low", "high", "sharpness"), [(0.6, 0.8, 1.0), (0.02, 0.98, 0.0), (0.001, 0.02, 0.6), (0.5, 0.5, 1.0)]
)
def test_sharpness_is_of_logits_not_of_per_cent(low: float, high: float, sharpness: float) -> None:
    assert PlaneCell(0.0, 0.0, high, low, high, 0).sharpness == pytest.approx(sharpness, abs=0.05)
