"""`pupilage progress`: the figures of the pages, for people and for programs, each traced by `explain`."""

import json
import re
from datetime import timedelta

import pytest
from django.test import Client
from django.urls import reverse

from pupilage.reports.formatting import show_chance, show_seconds
from pupilage.storage.models import User

pytestmark = pytest.mark.django_db

OUTCOMES = ["met"] * 7 + ["missed"]


@pytest.fixture
def trained(actor, programme, new_session, now, monkeypatch):
    """Train a stay on six days, come to the command on the day after, and return the stay's key."""
    for module in ("progress", "handover"):
        monkeypatch.setattr(f"pupilage.cli.commands.{module}.now", lambda: now)
    monkeypatch.setattr("pupilage.web.clock.now", lambda: now)
    for days, step in zip(range(6, 0, -1), ("first-instant", "one-second", "five-seconds") * 2, strict=True):
        at = now - timedelta(days=days)
        new_session(actor, programme, "stay", step, OUTCOMES, at=at, place="barn", handler="Pia")
    return programme


@pytest.fixture
def page(actor, trained):
    """Return a function that gives a page's text as a person reads it."""
    client = Client()
    client.force_login(User.objects.get(pk=actor.user_id))

    def read(name, *of):
        text = client.get(reverse(name, args=[trained, *of])).content.decode()
        return " ".join(re.sub(r"<[^>]+>", " ", text).split())

    return read


def way(run):
    return json.loads(run("progress", "--behaviour", "stay", "--json").output)


def plain(text):
    return " ".join(text.split())


def test_behaviours_figures_are_those_of_its_page(run, trained, page):
    found, text = way(run), page("behaviour-progress", "stay")
    today = found["today"]
    shown = [show_chance(today[name]) for name in ("p", "low", "high")]
    assert plain(f"met {shown[0]} of the time, likely between {shown[1]} and {shown[2]}") in text
    assert f"Step {found['place']} of {found['goal_place']}:" in text
    assert f"{found['n_trials']} tries, days: {len(found['days'])}" in text
    for line in found["days"]:
        assert f"{line['n_met']} of {line['n']}" in text
        assert plain(show_seconds(line["latency_s"])) in text
    for p in found["without_practice"]["p"]:
        assert plain(show_chance(p)) in text
    for one in (*found["places"], *found["people"]):
        assert one["name"] in text
        assert f"{one['newest']['n_met']} of the newest {one['newest']['n']} met" in text
    for cell in found["map"]["cells"]:
        assert plain(show_chance(cell["p"])) in text
    last = found["evenings"][-1]
    assert plain(f"it was {show_chance(last['p'])}") in text


def test_celerations_figures_are_those_of_its_page(run, trained, page):
    from pupilage.core.evaluation.celeration import say_factor

    found, text = way(run)["a_week"], page("celeration", "stay")
    for line in found.values():
        for method in ("per_week", "robust"):
            assert say_factor(line[method]["value"]) in text
            assert f"{say_factor(line[method]['low'])} … {say_factor(line[method]['high'])}" in text


def test_stays_figures_are_those_of_its_page(run, actor, trained, page, now):
    from pupilage.services.set_goals import GoalChoice, set_goals

    set_goals(actor, trained, [GoalChoice("stay", "five-seconds", 3), GoalChoice("sit", "lure", 2)], now=now)
    found, text = json.loads(run("progress", "--json").output), page("programme-progress")
    goals = {goal["behaviour"]: goal for goal in found["goals"]}
    assert goals["sit"]["passes_today"] is None
    for name, label in (("passes_today", "Would pass today"), ("passes_at_handover", "At the hand-over")):
        assert plain(f"{label} {show_chance(goals['stay'][name]['p'])}") in text
        assert plain(show_chance(goals["stay"][name]["low"])) in text
    table = run("progress").output
    assert "passes today" in table
    assert plain(show_chance(goals["stay"]["passes_today"]["p"])) in plain(table)


def test_every_chance_of_the_way_is_traced(run, trained):
    found = way(run)
    for name, value in (("today", found["today"]["p"]), ("today.low", found["today"]["low"])):
        told = json.loads(run("explain", f"progress.stay.{name}", "--json").output)
        assert told["value"] == value
        assert told["function"].startswith("core.")
    names = {one["name"]: one["value"] for one in json.loads(run("explain", "--json").output)}
    day = found["days"][-1]
    assert names[f"progress.stay.day.{day['day']}.met"] == f"{day['n_met']}/{day['n']}"
    assert names["progress.stay.met.week"] == found["a_week"]["met"]["per_week"]["value"]
    assert names["progress.stay.kept.7"] == found["without_practice"]["p"][2]


def test_unknown_figure_names_those_near_it(run, trained):
    done = run("explain", "progress.stay.tomorrow")
    assert done.exit_code != 0
    assert "progress.stay.today" in done.output


def test_never_tried_and_empty_are_answers(run, programme, monkeypatch, now):
    monkeypatch.setattr("pupilage.cli.commands.progress.now", lambda: now)
    assert "Never tried yet." in run("progress", "--behaviour", "stay").output
    found = way(run)
    assert (found["today"], found["days"], found["map"], found["n_trials"]) == (None, [], None, 0)
    assert run("progress").exit_code == 0


@pytest.mark.parametrize(
    ("given", "words"),
    [
        (("--behaviour", "somersault"), "pupilage catalogue"),
        (("--dog", "Nobody"), "the dogs here are"),
        (("--stay", "6a1c6c7e-6f5e-4a9e-8a51-0d2f5d0f9c02"), ""),
        (("--stay", "x"), "--stay"),
    ],
)
def test_errors_say_what_to_do(run, trained, given, words):
    done = run("progress", *given)
    assert done.exit_code != 0
    assert words in done.output
    assert "Traceback" not in done.output


def test_dog_is_found_by_its_name(run, trained):
    named = json.loads(run("progress", "--dog", " tansy ", "--json").output)
    assert named["programme"]["id"] == str(trained)
