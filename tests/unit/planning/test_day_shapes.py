"""The shapes of awake blocks, and the order of sessions: small cases by hand."""

from dataclasses import replace
from itertools import pairwise

from day_frames import session
from pupilage.core.planning.day.blocks import BlockKind
from pupilage.core.planning.day.ordering import must_stand_alone, order_sessions
from pupilage.core.planning.day.shapes import Before, Sizes, along_shapes, shapes_of
from pupilage.core.planning.planned_session import Purpose

SIZES = Sizes(
    outing=1,
    meal=2,
    session=1,
    exposure=2,
    play=2,
    chew=2,
    awake_most=12,
    until_out=9,
    until_out_resting=30,
    meal_is_big=True,
)
OUT, MEAL = BlockKind.OUTING, BlockKind.MEAL


def fronts(shapes):
    return {tuple((piece.kind, piece.at) for piece in shape.front) for shape in shapes}


def test_block_with_nothing_is_an_outing_or_two_with_loose_time_between():
    shapes = shapes_of(SIZES, Before(), {})
    assert fronts(shapes) == {((OUT, 0),)}
    assert sorted((shape.length, shape.stretch, shape.closes, shape.chew) for shape in shapes) == [
        (1, 0, False, 0),
        (3, 0, False, 2),
        (3, 7, True, 0),
        (5, 7, True, 2),
    ]


def test_meal_is_followed_by_an_outing_at_once():
    shapes = shapes_of(SIZES, Before(), {MEAL: 1})
    assert ((OUT, 0), (MEAL, 1), (OUT, 3)) in fronts(shapes)
    for shape in shapes:
        for meal in (piece for piece in shape.front if piece.kind is MEAL):
            assert any(piece.kind is OUT and piece.at == meal.end for piece in shape.front)


def test_no_shape_is_longer_than_the_age_allows():
    most = dict.fromkeys((MEAL, BlockKind.SESSION, BlockKind.PLAY, BlockKind.EXPOSURE), 2)
    assert all(shape.length + shape.stretch <= 12 for shape in shapes_of(SIZES, Before(), most))


def test_nothing_lively_follows_a_big_meal_for_half_an_hour_and_after_a_small_one_it_may():
    after_meal = ((OUT, 0), (MEAL, 1), (OUT, 3), (BlockKind.SESSION, 4))
    most = {MEAL: 1, BlockKind.SESSION: 1}
    assert after_meal not in fronts(shapes_of(SIZES, Before(), most))
    assert after_meal in fronts(shapes_of(replace(SIZES, meal_is_big=False), Before(), most))


def test_block_that_goes_on_has_only_the_time_that_is_left():
    before = Before(awake_for=8, since_outing=2, must_go=False)
    shapes = shapes_of(SIZES, before, {BlockKind.PLAY: 1})
    assert all(shape.length + shape.stretch <= 4 for shape in shapes)


def test_pup_awake_too_long_already_goes_out_and_to_its_crate():
    (shape,) = shapes_of(SIZES, Before(awake_for=30, since_outing=20), {BlockKind.PLAY: 1, MEAL: 1})
    assert (shape.length, shape.n_outings, shape.chew) == (1, 1, 0)


def test_appointment_with_the_pup_lies_between_two_outings_and_may_lengthen_the_block():
    shapes = along_shapes(replace(SIZES, awake_most=6), [(0, 20, 28)])
    assert min(shape.length for shape in shapes) == 10
    assert fronts(shapes) == {((OUT, 0), (BlockKind.APPOINTMENT, 1), (OUT, 9))}
    assert along_shapes(SIZES, [(0, 20, 32)]) == ()


def test_sessions_alternate_and_the_first_of_the_list_are_kept():
    sessions = [session(one) for one in ("sit", "sit", "sit", "down", "down", "mat")]
    numbers = [number for block in order_sessions(sessions, [2, 2, 2]) for number in block]
    names = [sessions[number].behaviour for number in numbers]
    assert all(a != b for a, b in pairwise(names))
    assert sorted(numbers) == list(range(6))
    assert sorted(number for block in order_sessions(sessions, [1, 1]) for number in block) == [0, 1]


def test_place_that_could_only_repeat_a_behaviour_stays_empty():
    assert order_sessions([session("sit"), session("sit")], [2, 1]) == [[0], [1]]
    assert order_sessions([session("sit")], [1], last="sit") == [[]]


def test_other_behaviour_takes_the_place_of_one_that_would_repeat():
    assert order_sessions([session("sit"), session("sit"), session("mat")], [2]) == [[0, 2]]


def test_probe_comes_first_unless_the_order_is_to_be_kept():
    sessions = [session("sit"), session("mat", purpose=Purpose.PROBE)]
    assert order_sessions(sessions, [1, 1]) == [[1], [0]]
    assert order_sessions(sessions, [1, 1], keep=True) == [[0], [1]]


def test_one_behaviour_with_more_than_half_of_the_sessions_stands_alone():
    assert must_stand_alone([session("sit")] * 3 + [session("mat")])
    assert not must_stand_alone([session("sit")] * 2 + [session("mat")])
    assert not must_stand_alone([])
