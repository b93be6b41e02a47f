"""Two codings side by side: lengths that differ, moments that one did not mark, clocks that are apart."""

import itertools

import pytest

from pupilage.core.errors import InvalidInput, NotEnoughYet
from pupilage.core.evaluation.codings import Coding, Entry, EntryKind, Mark, coding_of, fold_coding
from pupilage.core.evaluation.comparison import Differing, Terms, compare_codings
from pupilage.core.evaluation.matching import likely_shift_s, match_marks
from pupilage.core.evaluation.talking_over import say_agreement, say_differing, say_kappa, show_moment


def coding(name, *marks, length_s=None):
    return coding_of(name, [Mark(time_s, code) for time_s, code in marks], length_s=length_s)


def said(found):
    return " ".join(str(says) for says in (*say_agreement(found), *say_kappa(found)))


def test_moment_that_one_did_not_mark_is_listed_as_such():
    one = coding("Wren", (5, "met"), (83, "met"), (100, "met"))
    other = coding("Pia", (5.5, "met"), (83.4, "missed"))
    found = compare_codings(one, other)
    assert found.differing == (Differing(2, 83, "met", "missed"), Differing(3, 100, "met", None))
    assert str(say_differing(found.differing[0], found)) == "2, at 1:23: Wren says met, Pia says missed."
    assert str(say_differing(found.differing[1], found)) == "3, at 1:40: Wren says met; Pia marked nothing there."
    assert found.share == pytest.approx(1 / 3)


def test_different_lengths_are_said_and_nothing_is_lost():
    one = coding("Wren", (5, "met"), (40, "met"), (70, "missed"), length_s=80)
    other = coding("Pia", (5, "met"), (40, "met"), length_s=60)
    found = compare_codings(one, other)
    assert (found.compared_s, found.share) == (60, 1.0)
    assert found.outside == (("Wren", Mark(70, "missed")),)
    assert "Wren watched for 1:20 and Pia for 1:00: compared are the first 1:00." in said(found)
    assert "Marks outside what both watched: 1" in said(found)


def test_lengths_that_nobody_wrote_down_are_said():
    found = compare_codings(coding("a", (5, "met")), coding("b", (65, "met")))
    assert "Nobody wrote down how long they watched" in said(found)
    assert found.compared_s == 65


def test_pair_across_the_end_of_what_both_watched_is_inside():
    found = compare_codings(coding("a", (61, "met"), length_s=90), coding("b", (59.5, "met"), length_s=60))
    assert (len(found.moments), found.outside) == (1, ())
    assert found.overall.counts.total == 1.0


def test_clocks_that_are_apart_are_named_and_never_moved_silently():
    times = [3, 9, 21, 26, 40, 47, 58, 66]
    one = coding("a", *((t, "met") for t in times), length_s=90)
    other = coding("b", *((t - 5.2, "met") for t in times if t > 6), length_s=80)
    found = compare_codings(one, other)
    assert found.share < 0.5
    assert found.likely_shift_s == pytest.approx(5.2, abs=0.11)
    assert "The clocks seem to be apart: with 5.2 s added" in said(found)
    moved = compare_codings(one, other, Terms(shift_s=found.likely_shift_s))
    assert (moved.n_same, moved.likely_shift_s) == (7, None)


def test_even_spacing_alone_names_no_shift():
    times = [8.0 * n for n in range(20)]
    one, other = [Mark(t, "met") for t in times], [Mark(t + 0.5, "met") for t in times]
    assert likely_shift_s(one, other, 2.0) is None


def test_words_play_no_part_in_the_pairing():
    pairs = match_marks([Mark(10, "met")], [Mark(8.5, "met"), Mark(10.5, "missed")], 2.0)
    assert [(p.one, p.other) for p in pairs if p.one] == [(Mark(10, "met"), Mark(10.5, "missed"))]


def test_neither_marked_anything():
    found = compare_codings(coding("a", length_s=60), coding("b", length_s=60))
    assert (found.share, found.matched, found.overall.intervals.all) == (None, None, 1.0)
    assert "Neither marked anything in 1:00." in said(found)
    with pytest.raises(NotEnoughYet):
        compare_codings(coding("a"), coding("b"))


@pytest.mark.parametrize(
    ("same", "of", "words"),
    [
        (60, 60, "reached, and surely so"),
        (9, 10, "reached, but so few moments cannot show it yet"),
        (7, 10, "not reached, though so few moments leave it open"),
        (20, 60, "not reached, and surely not"),
    ],
)
def test_usual_minimum_is_judged_by_how_sure_the_share_is(same, of, words):
    one = coding("a", *((10 * n, "met") for n in range(of)))
    other = coding("b", *((10 * n, "met" if n < same else "missed") for n in range(of)))
    assert words in said(compare_codings(one, other))


def test_one_word_and_a_word_used_by_one_alone_have_no_kappa_to_read():
    same = compare_codings(coding("a", (1, "met")), coding("b", (1, "met")))
    assert "there is no kappa" in said(same)
    degenerate = compare_codings(
        coding("a", (1, "met"), (9, "met"), (20, "met")), coding("b", (1, "met"), (9, "met"), (20, "missed"))
    )
    assert "says nothing" in said(degenerate)


def test_taking_back_and_any_order_of_arrival_give_the_same_coding():
    entries = [
        Entry("a", EntryKind.MARK, 5.0, "met"),
        Entry("b", EntryKind.MARK, 12.0, "missed"),
        Entry("c", EntryKind.WITHDRAWN, 13.0, withdraws="b"),
        Entry("d", EntryKind.ENDED, 60.0),
    ]
    wanted = Coding("Pia", (Mark(5.0, "met"),), 60.0)
    for order in itertools.permutations(entries):
        assert fold_coding("Pia", order) == wanted


def test_mark_after_the_end_moves_the_end():
    assert coding("a", (70, "met"), length_s=60).length_s == 70


@pytest.mark.parametrize(
    "terms", [{"interval_s": 0.0}, {"tolerance_s": -1.0}, {"tolerance_s": float("nan")}, {"shift_s": float("inf")}]
)
def test_terms_that_cannot_be_are_refused(terms):
    with pytest.raises(InvalidInput):
        Terms(**terms)


@pytest.mark.parametrize(("time_s", "code"), [(-1.0, "met"), (float("nan"), "met"), (1.0, " "), (1.0, "x" * 41)])
def test_marks_that_cannot_be_are_refused(time_s, code):
    with pytest.raises(InvalidInput):
        coding("a", (time_s, code))


def test_moments_are_shown_as_on_a_clock():
    assert [show_moment(t) for t in (0, 83.9, 3723, -4)] == ["0:00", "1:23", "1:02:03", "-0:04"]


def test_long_dense_codings_are_compared_quickly():
    """2000 marks a second apart fall into one cluster; the pairing takes seconds where it should take one."""
    one = coding("a", *((0.5 * n, "bark") for n in range(2000)))
    assert compare_codings(one, one).share == 1.0


def test_terms_that_nobody_chose_are_ten_seconds_and_two():
    assert Terms() == Terms(interval_s=10.0, tolerance_s=2.0, shift_s=0.0)


@pytest.mark.parametrize(
    ("name", "taken", "refused"),
    [
        ("interval_s", (1.0, 3600.0), (0.995, 3610.0)),
        ("tolerance_s", (0.0, 60.0), (-0.005, 60.3)),
        ("shift_s", (-3600.0, 3600.0), (-3610.0, 3610.0)),
    ],
)
def test_terms_are_taken_up_to_their_limits(name, taken, refused):
    for value in taken:
        assert getattr(Terms(**{name: value}), name) == value
    for value in refused:
        with pytest.raises(InvalidInput):
            Terms(**{name: value})


def test_eight_moments_of_ten_reach_the_usual_minimum():
    one = coding("a", *((10 * n, "met") for n in range(10)))
    other = coding("b", *((10 * n, "met" if n < 8 else "missed") for n in range(10)))
    assert "reached, but so few moments cannot show it yet" in said(compare_codings(one, other))


@pytest.mark.parametrize(("length_s", "n_intervals"), [(0.005, 1), (5, 1), (10, 1), (60, 6), (60.5, 7)])
def test_the_last_interval_is_shorter_where_the_length_is_no_multiple(length_s, n_intervals):
    found = compare_codings(coding("a", length_s=length_s), coding("b", length_s=length_s))
    assert (found.compared_s, found.n_intervals) == (length_s, n_intervals)


def test_a_mark_at_the_edge_belongs_to_the_interval_that_it_begins():
    """At 9.95 and 10 s: intervals 1 and 2; at the very end of what both watched: the last, and inside."""
    found = compare_codings(
        coding("a", (9.95, "met"), (20.0, "met"), length_s=20), coding("b", (10.0, "met"), (20.0, "met"), length_s=20)
    )
    assert (len(found.moments), found.outside) == (2, ())
    assert found.overall.counts.exact == 0.0
    assert (found.overall.n_one, found.overall.n_other) == (2, 2)


def test_a_mark_after_what_both_watched_is_outside():
    found = compare_codings(coding("a", (20.1, "met"), length_s=30), coding("b", (5, "met"), length_s=20))
    assert found.outside == (("a", Mark(20.1, "met")),)


def test_a_mark_at_the_very_start_is_inside_and_one_before_it_is_not():
    found = compare_codings(coding("a", (0.0, "met"), length_s=30), coding("b", length_s=30))
    assert (len(found.moments), found.outside) == (1, ())
    early = compare_codings(coding("a", length_s=30), coding("b", (5.0, "met"), length_s=30), Terms(shift_s=-5.1))
    assert [who for who, _ in early.outside] == ["b"]
