"""Watching the learner: each rule by hand, and how often a steady session is troubled for nothing."""

from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest

from engine_cases import MAT, START, hold_trials, series
from pupilage.core.catalogue.behaviour import Scoring
from pupilage.core.training.criterion.watching import Suggestion, watch
from pupilage.core.training.record.evidence import SessionKind
from pupilage.core.training.record.seen import MOUTH_WORDS, SIGN_WORDS, Seen, StressSign

SESSIONS = 2000


def ticked(*signs, mouths=()):
    found = [Seen(f"s{n}", START + timedelta(seconds=n), (sign,)) for n, sign in enumerate(signs)]
    return [*found, *(Seen(f"m{n}", START + timedelta(seconds=60 + n), (), m) for n, m in enumerate(mouths))]


def rules_of(trials=(), seen=(), **more):
    return [(one.suggestion, one.rule) for one in watch(trials, seen, **more)]


def test_steady_session_has_nothing_to_say():
    assert (
        rules_of(series("mmxmmmhmmmmm", latencies_s=[1.0, 1.2, 0.9] * 4), ticked(StressSign.YAWN, mouths=[0, 1])) == []
    )


@pytest.mark.parametrize(
    ("signs", "suggestion"),
    [
        ([StressSign.YAWN, StressSign.YAWN], None),  # one sign, twice: alone it means little
        ([StressSign.YAWN, StressSign.LIP_LICK], Suggestion.EASIER),
        ([StressSign.YAWN, StressSign.LIP_LICK, StressSign.TURNS_AWAY], Suggestion.END),
        ([StressSign.REFUSES_FOOD], Suggestion.BREAK),
    ],
)
def test_signs_count_by_their_kinds(signs, suggestion):
    assert rules_of(seen=ticked(*signs)) == ([] if suggestion is None else [(suggestion, "signs")])


@pytest.mark.parametrize(
    ("mouths", "suggestion"),
    [
        ([1, 1, 1], None),
        ([2, 1, 1], None),
        ([2, 1, 2], Suggestion.OTHER_REINFORCER),
        ([2, 2, 0, 0], None),  # it has become soft again
        ([0, 3], Suggestion.BREAK),
        ([3, 0], None),
        ([4, 0, 0, 0], Suggestion.END),  # broken skin is not forgotten in the same session
    ],
)
def test_mouth_is_judged_by_its_last_three_takings(mouths, suggestion):
    assert rules_of(seen=ticked(mouths=mouths)) == ([] if suggestion is None else [(suggestion, "mouth")])


@pytest.mark.parametrize(
    ("letters", "found"),
    [
        ("mmmmm" + "xxmxmx", True),
        ("mmmmx" + "xxmxmx", True),
        ("mmxmx" + "xxmxmx", False),  # as many before
        ("mmmm" + "xxmxmx", False),  # too few before
        ("mmmmm" + "xmmxmx", False),
        ("mmmmm" + "vvxvxmxvmx", True),  # void ones are no tries
    ],
)
def test_misses_that_cluster_ask_for_a_break(letters, found):
    assert ((Suggestion.BREAK, "misses") in rules_of(series(letters, every_s=2.0))) is found


@pytest.mark.parametrize(
    ("latencies", "found"),
    [
        ([1.0, 1.2, 0.9, 1.1, 1.0, 1.8, 1.9, 1.7, 1.8], True),
        ([1.0, 1.2, 0.9, 1.1, 1.0, 1.8, 1.9, 1.7, 0.9], True),
        ([1.0, 1.2, 0.9, 1.1, 1.8, 1.9, 1.7, 1.8], False),  # too few earlier ones
        ([0.3, 0.3, 0.3, 0.3, 0.3, 0.7, 0.7, 0.7, 0.7], False),  # twice, but not by half a second
        ([2.0, 2.0, 2.0, 2.0, 2.0, 3.0, 3.0, 3.0, 3.0], False),  # a second, but half as long again only
    ],
)
def test_latency_that_grows_asks_for_another_reinforcer(latencies, found):
    trials = series("m" * len(latencies), latencies_s=latencies)
    assert ((Suggestion.OTHER_REINFORCER, "latency") in rules_of(trials)) is found


def test_pace_that_halves_asks_for_something_easier_but_not_of_holds():
    brisk = series("mmmmmm", every_s=6.0)
    slow = series("mxmxmx", start=brisk[-1].at + timedelta(seconds=8), every_s=8.0)
    assert (Suggestion.EASIER, "pace") in rules_of([*brisk, *slow])
    assert all(rule != "pace" for _, rule in rules_of([*brisk, *slow], scoring=Scoring.HOLD))
    assert rules_of(hold_trials(*[(60.0, 60.0, False)] * 12), scoring=MAT.scoring) == []


def test_most_urgent_stands_first_and_a_probe_is_watched_for_signs_and_mouth_only():
    hard = series("mmmmm" + "xxxxxx", kind=SessionKind.PROBE)
    assert rules_of(hard) == []
    both = ticked(StressSign.YAWN, StressSign.LIP_LICK, mouths=[4])
    assert rules_of(hard, both) == [(Suggestion.END, "mouth"), (Suggestion.EASIER, "signs")]


def test_every_sign_and_every_mouth_has_words():
    assert set(SIGN_WORDS) == set(StressSign)
    assert list(MOUTH_WORDS) == [0, 1, 2, 3, 4]


def alarms_of_steady_dogs(p, *, tired=False):
    """Return the share of sessions of 14 tries in which each rule spoke at least once, judged after every try.

    Tries 4 to 10 s apart, starts log-normal with median 1 s and sd of the log 0.4 (from memory). tired: from the
    eighth try on the chance is halved, starts take twice as long and tries lie twice as far apart.
    """
    rng = np.random.default_rng(20310506)
    spoke = dict.fromkeys(("misses", "latency", "pace", "any"), 0)
    late = np.arange(14) >= 7
    for _ in range(SESSIONS):
        gaps = rng.uniform(4, 10, 14) * np.where(late & tired, 2.0, 1.0)
        met = rng.random(14) < p * np.where(late & tired, 0.5, 1.0)
        starts = np.exp(rng.normal(0.0, 0.4, 14)) * np.where(late & tired, 2.0, 1.0)
        plain = series("".join("m" if one else "x" for one in met), latencies_s=starts.tolist())
        timed = [
            replace(t, at=START + timedelta(seconds=float(s)), latency_s=t.latency_s if one else None)
            for t, s, one in zip(plain, np.cumsum(gaps), met, strict=True)
        ]
        rules = {rule for n in range(7, 15) for _, rule in rules_of(timed[:n])}
        for rule in rules:
            spoke[rule] += 1
        spoke["any"] += bool(rules)
    return {rule: n / SESSIONS for rule, n in spoke.items()}


def test_one_steady_session_in_ten_is_troubled():
    """Seeded simulation, 2,000 sessions: the bound of 0.13 is the aim of 0.10 and more than four standard errors."""
    assert alarms_of_steady_dogs(0.8)["any"] <= 0.13
    assert alarms_of_steady_dogs(0.9)["any"] <= 0.13


def test_nine_sessions_in_ten_that_tire_are_noticed():
    """2,000 sessions, standard error 0.6 %: measured 0.93."""
    assert alarms_of_steady_dogs(0.8, tired=True)["any"] >= 0.90
