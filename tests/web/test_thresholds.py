"""The page of what a pup can bear."""

from datetime import timedelta

import pytest
from django.urls import reverse

pytestmark = pytest.mark.django_db


@pytest.fixture
def trained(actor, programme, new_session, now):
    for days, step in zip(range(6, 0, -1), ("first-instant", "one-second", "five-seconds") * 2, strict=True):
        new_session(actor, programme, "stay", step, ["met"] * 7 + ["missed"], at=now - timedelta(days=days))
    return programme


def page(client, programme, key="stay"):
    return client.get(reverse("thresholds", args=[programme, key]))


def test_page_tells_each_dimension_the_next_try_and_the_household_level(keeper_client, trained):
    shown = page(keeper_client, trained).content.decode()
    for words in ("How long", "How far", "How distracting", "Where", "The most useful next try", "household level"):
        assert words in shown
    assert "still our assumption" in shown


def test_page_without_tries_says_what_is_missing_and_no_figures(keeper_client, programme):
    shown = page(keeper_client, programme).content.decode()
    assert "Not enough yet: has 0 of 5 tries." in shown
    assert "How long" not in shown


def test_behaviour_that_is_not_in_the_catalogue_is_not_found(keeper_client, programme):
    assert page(keeper_client, programme, "somersault").status_code == 404


def test_stay_links_to_it(keeper_client, actor, trained):
    from pupilage.services.read_programme import read_programme
    from pupilage.web import clock

    goals = [s.behaviour.key for s in read_programme(actor, trained, now=clock.now()).standings]
    shown = keeper_client.get(reverse("programme", args=[trained])).content.decode()
    assert all(reverse("thresholds", args=[trained, key]) in shown for key in goals)
