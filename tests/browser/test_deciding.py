"""The phone's own rules in Chromium, held to the engine on made sessions: the same words, not only the action."""

import base64
import json
from collections.abc import Iterator
from dataclasses import replace
from datetime import timedelta
from itertools import product
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from playwright.sync_api import Browser, Page

import pupilage.web
from engine_cases import MAT, START, hold_trials, series
from pupilage.core.catalogue.behaviour import Behaviour, Scoring
from pupilage.core.catalogue.loading import load_bundled
from pupilage.core.incidents.beside import pay_figures, pay_intervals, pay_multiples
from pupilage.core.training.criterion import phone_rules
from pupilage.core.training.criterion.advice import count
from pupilage.core.training.criterion.decision import decide, judge_run
from pupilage.core.training.criterion.holds import next_target
from pupilage.core.training.criterion.session_table import FOLLOWED, make_session_table
from pupilage.core.training.criterion.tables import Start
from pupilage.core.training.criterion.watching import watch
from pupilage.core.training.posterior.knowledge import know
from pupilage.core.training.record.evidence import Hold, SessionKind, Trial
from pupilage.core.training.record.seen import Seen, StressSign

pytestmark = pytest.mark.browser

BEHAVIOURS = load_bundled().behaviours
SIT = BEHAVIOURS["sit"]
MODULE = Path(pupilage.web.__file__).parent / "static" / "pupilage" / "deciding.js"


@pytest.fixture(scope="module")
def phone(browser: Browser) -> Iterator[Page]:
    """An empty page that has the module, without any server."""
    page = browser.new_page()
    text = base64.b64encode(MODULE.read_bytes()).decode()
    page.evaluate("async (text) => { window.own = await import('data:text/javascript;base64,' + text); }", text)
    yield page
    page.close()


def session_of(behaviour: Behaviour, *, goal: int | None = None, **more: Any) -> dict[str, Any]:
    says = {k: {n: s.template for n, s in v.items()} for k, v in phone_rules.phone_sentences().items()}
    return {
        "figures": phone_rules.phone_figures(),
        "says": {**says, "percent": "{n} %", "under": "under 1 %", "over": "over 99 %"},
        "steps": [{"key": s.key, "summary": s.summary, "duration_s": s.criterion.duration_s} for s in behaviour.steps],
        "goal": behaviour.step_index(behaviour.target) if goal is None else goal,
        "scoring": behaviour.scoring.value,
        "probe": False,
        "before": {"step": None, "run": ""},
        **more,
    }


def sent(trials: list[Trial]) -> list[dict[str, Any]]:
    return [
        {
            "outcome": t.outcome.value,
            "at": round(t.at.timestamp() * 1000),
            "latency_s": t.latency_s,
            "step": t.step,
            "pieces": t.pieces,
            "hold": None if t.hold is None else {"held_s": t.hold.held_s, "broke": t.hold.broke},
        }
        for t in trials
    ]


def made_sessions(n: int, *, steps: tuple[str, ...], most: int = 16) -> Iterator[list[Trial]]:
    """Yield sessions of every temper: brisk and slow, starts timed or not, step changes, void tries."""
    rng = np.random.default_rng(20310507)
    for _ in range(n):
        length = int(rng.integers(1, most + 1))
        p = rng.choice([0.3, 0.6, 0.9])
        letters = ["m" if u < p else rng.choice(["x", "x", "x", "h", "v"]) for u in rng.random(length)]
        starts = np.round(np.exp(rng.normal(0.0, 0.6, length)), 2) * np.where(np.arange(length) > 7, 2.0, 1.0)
        timed = [float(s) if u < 0.7 else None for s, u in zip(starts, rng.random(length), strict=True)]
        gaps = np.round(rng.uniform(2, rng.choice([8, 20, 40]), length), 1)
        place = int(rng.integers(0, len(steps)))
        trials = []
        for t, at in zip(series("".join(letters), latencies_s=timed, behaviour=SIT.key), np.cumsum(gaps), strict=True):
            if rng.random() < 0.15:
                place = max(0, min(len(steps) - 1, place + int(rng.choice([-1, 1]))))
            pieces = int(t.outcome.value == "met" or rng.random() < 0.1)
            trials.append(replace(t, at=START + timedelta(seconds=float(at)), step=steps[place], pieces=pieces))
        yield trials


def test_counts_decide_alike_on_every_run_of_six_tries(phone: Page) -> None:
    strings = ["".join(s) for n in range(7) for s in product("msxh", repeat=n)]
    for place in (0, 2):
        got = phone.evaluate(
            """([session, place, strings]) => strings.map((s) => {
                const one = own.byCounts(session, place, own.count(s, session.figures.counts));
                return [one.action, one.step, one.reason]; })""",
            [session_of(SIT), place, strings],
        )
        for letters, found in zip(strings, got, strict=True):
            asked = phone_rules.judge_by_counts(SIT, place, count(letters), goal=SIT.step_index(SIT.target))
            assert found == [asked.action.value, asked.step, str(asked.reason)], letters


def test_log_ratio_of_a_run_is_the_engines(phone: Page) -> None:
    runs = ["".join(letters) for n in range(1, 7) for letters in product("mxh", repeat=n)] + ["m" * 40, "mmx" * 15]
    got = phone.evaluate(
        "([session, runs]) => runs.map((run) => own.count(run, session.figures.counts).ratio)", [session_of(SIT), runs]
    )
    assert got == pytest.approx([count(run).log_ratio for run in runs], rel=1e-12)


def test_run_counts_on_from_the_session_before(phone: Page) -> None:
    key, place = SIT.steps[2].key, 2
    for trials in made_sessions(40, steps=(key,)):
        found = phone.evaluate(
            """([session, trials, step]) => { const half = trials.length >> 1;
                const before = own.runAfter(session, trials.slice(0, half));
                const one = own.decide({ ...session, before }, trials.slice(half), { now: Infinity, step });
                return [one.action, one.step, one.reason]; }""",
            [session_of(SIT), sent(trials), key],
        )
        letters = "".join({"met": "m", "missed": "x", "helped": "h"}.get(t.outcome.value, "") for t in trials)
        asked = phone_rules.judge_by_counts(SIT, place, count(letters), goal=SIT.step_index(SIT.target))
        assert found == [asked.action.value, SIT.steps[asked.step].key, str(asked.reason)], letters


def test_pauses_are_the_engines_on_made_sessions(phone: Page) -> None:
    """Pace, latency, length, two misses after a lower, an empty pouch, on 500 made sessions."""
    keys = tuple(step.key for step in SIT.steps)
    known, asked, bodies = know(BEHAVIOURS, []), [], []
    rng = np.random.default_rng(1)
    for trials in made_sessions(500, steps=keys[:3]):
        now = trials[-1].at + timedelta(seconds=float(rng.choice([0, 5, 90, 700])))
        pieces = int(rng.choice([0, 3])) if rng.random() < 0.1 else None
        with_them = know(BEHAVIOURS, trials, earlier=known)
        decision = decide(SIT, trials[-1].step, with_them, session_id="s1", now=now, pieces_left=pieces)
        advice = judge_run(SIT, trials[-1].step, with_them, now=now)
        paused = decision.reason != advice.reason
        asked.append(str(decision.reason) if paused else None)
        summary = SIT.steps[advice.step].summary
        at = {"now": round(now.timestamp() * 1000), "pieces": pieces, "nextStep": summary}
        bodies.append([sent(trials), at])
    got = phone.evaluate(
        "([session, bodies]) => bodies.map(([t, at]) => own.pauseReason(session, t, at))", [session_of(SIT), bodies]
    )
    assert sum(one is not None for one in asked) > 100, "the cases must reach the rules"
    assert got == asked


def test_next_hold_is_the_engines(phone: Page) -> None:
    rng = np.random.default_rng(20310508)
    asked, bodies = [], []
    for _ in range(800):
        step = MAT.steps[int(rng.integers(0, 3))]
        n = int(rng.integers(0, 26))
        holds = [Hold(float(np.round(rng.exponential(12.0), 2)), 5.0, bool(rng.random() < 0.5)) for _ in range(n)]
        expected = float(rng.uniform(0, 90)) if rng.random() < 0.5 else None
        in_session = int(rng.integers(0, 12))
        target = next_target(step.criterion.duration_s, holds, n_in_session=in_session, expected_s=expected)
        asked.append([target.target_s, str(target.reason)])
        told = [{"held_s": h.held_s, "broke": h.broke} for h in holds]
        bodies.append({"step": step.key, "holds": told, "inSession": in_session, "expectedS": expected})
    got = phone.evaluate(
        """([session, bodies]) => bodies.map((one) => {
            const hold = own.nextHold(session, one); return [hold.target_s, hold.reason]; })""",
        [session_of(MAT), bodies],
    )
    assert got == asked


def test_stretches_between_a_mats_pays_are_the_engines(phone: Page) -> None:
    targets = [0.0, 0.3, 5.9, 6.0, 6.1, 7.25, 30.0, 44.4, 179.0, 180.0, 600.0]
    asked = [list(pay_intervals(target, seed)) for target in targets for seed in ("one", "two", "three")]
    multiples = [pay_multiples(seed) for seed in ("one", "two", "three")]
    got = phone.evaluate(
        """([rule, targets, lists]) => targets.flatMap((target) =>
            lists.map((list) => list.map((multiple) => own.payInterval(rule, target, multiple))))""",
        [pay_figures(), targets, multiples],
    )
    assert got == asked


def test_watching_says_what_the_engine_says(phone: Page) -> None:
    rng = np.random.default_rng(20310509)
    signs = list(StressSign)
    asked, bodies = [], []
    for trials in made_sessions(1500, steps=("a",)):
        seen = [
            Seen(
                str(n),
                START + timedelta(seconds=n),
                tuple(rng.choice(signs, size=int(rng.integers(0, 2)))),
                int(rng.integers(0, 5)) if rng.random() < 0.5 else None,
            )
            for n in range(int(rng.integers(0, 4)))
        ]
        asked.append([[w.suggestion.value, str(w.reason)] for w in watch(trials, seen)])
        bodies.append([sent(trials), [{"signs": [str(s) for s in one.signs], "mouth": one.mouth} for one in seen]])
    got = phone.evaluate(
        """([session, bodies]) => bodies.map(([trials, seen]) =>
            own.watch(session, trials, seen).map((one) => [one.suggestion, one.reason]))""",
        [session_of(SIT), bodies],
    )
    assert sum(bool(one) for one in asked) > 300
    assert got == asked


def table_for(letters: str, step: str, **more: Any) -> tuple[Any, Start, Any]:
    yesterday = series(letters, step=step, session="s0", start=START - timedelta(days=1), behaviour=SIT.key)
    known = know(BEHAVIOURS, yesterday)
    start = Start("s1", step, START, None, None, 10)
    return known, start, make_session_table(SIT, known, start, **more)


def rows_of(table: Any) -> dict[str, Any]:
    return {k: {"action": d.action.value, "step": d.step, "reason": str(d.reason)} for k, d in table.items()}


@pytest.mark.parametrize("so_far", ["", "mmxmm", "mmmmmmmmmm"])
def test_every_session_that_the_table_holds_is_decided_as_the_engine_would(phone: Page, so_far: str) -> None:
    """Every row (all sessions of four tries, moves included, and the likeliest to fifteen), at the session's own
    clock: brisk, so that no pause of the clock comes between; the fifteenth try pauses in both."""
    step = SIT.steps[2].key
    known, _, table = table_for(so_far, step, whole=4, most_rows=450)
    run = "".join(so_far)
    session = session_of(
        SIT, table={"step": step, "rows": rows_of(table)}, before={"step": step if run else None, "run": run}
    )
    asked, bodies = [], []
    for word in table:
        trials, here = [], step
        for i, letter in enumerate(word):
            if letter == FOLLOWED:
                here = table[word[:i]].step
                continue
            at = START + timedelta(seconds=5 * (len(trials) + 1))
            made = series(letter, step=here, start=at, behaviour=SIT.key)[0]
            trials.append(replace(made, event_id=f"{i}", pieces=int(letter != "x")))
        now = trials[-1].at if trials else START
        one = decide(
            SIT, here, know(BEHAVIOURS, [*known.trials, *trials], earlier=known), session_id="s1", now=now, days_left=10
        )
        asked.append([one.action.value, one.step, str(one.reason)])
        bodies.append([sent(trials), {"now": round(now.timestamp() * 1000), "step": here}])
    got = phone.evaluate(
        """([session, bodies]) => bodies.map(([trials, at]) => {
            const one = own.decide(session, trials, at); return [one.action, one.step, one.reason]; })""",
        [session, bodies],
    )
    assert got == asked


def test_beyond_its_table_the_phone_says_that_the_counts_decide(phone: Page) -> None:
    step = SIT.steps[2].key
    _, _, table = table_for("", step, whole=1, most_rows=5)
    session = session_of(SIT, table={"step": step, "rows": rows_of(table)})
    trials = series("mh" + "m" * 10, step=step, behaviour=SIT.key, every_s=5.0)
    at = {"now": round(trials[-1].at.timestamp() * 1000), "step": step}
    got = phone.evaluate("([session, trials, at]) => own.decide(session, trials, at)", [session, sent(trials), at])
    assert (got["by"], got["action"]) == ("counts", "raise")
    assert "by the counts of this run alone" in got["reason"]


def test_figures_and_sentences_go_to_the_phone_as_json() -> None:
    assert len(json.dumps(phone_rules.phone_figures())) < 2500
    assert (
        {"counts", "pause", "hold", "watch"} == set(phone_rules.phone_figures()) == set(phone_rules.phone_sentences())
    )


def test_probe_is_never_paused_by_the_clock_and_holds_take_their_time(phone: Page) -> None:
    trials = series("m" * 16, behaviour=SIT.key, every_s=30.0, kind=SessionKind.PROBE)
    at = {"now": round(trials[-1].at.timestamp() * 1000), "pieces": None, "nextStep": ""}
    probe = session_of(SIT, probe=True)
    assert phone.evaluate("([s, t, at]) => own.pauseReason(s, t, at)", [probe, sent(trials), at]) is None
    slow = hold_trials(*[(60.0, 60.0, False)] * 8)
    at = {"now": round(slow[-1].at.timestamp() * 1000), "pieces": None, "nextStep": ""}
    assert MAT.scoring is Scoring.HOLD
    assert phone.evaluate("([s, t, at]) => own.pauseReason(s, t, at)", [session_of(MAT), sent(slow), at]) is None
