"""The trainer's pages of the family: the link shown once, choices, pictures, the lesson, the weeks after."""

import re
from datetime import timedelta
from uuid import uuid4

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse

from made_pictures import made_png
from pupilage.services.read_lesson import read_lesson
from pupilage.storage.catalogue_files import load_catalogue
from pupilage.storage.models import FamilyCall, FamilyEntry, FamilyLink, FamilyMedia, FamilyPage, LessonItem, Programme

pytestmark = pytest.mark.django_db


@pytest.fixture
def works(actor, programme, new_session):
    """A behaviour that works in a quiet room."""
    found = next(iter(load_catalogue().behaviours.values()))
    new_session(actor, programme, found.key, found.steps[0].key, ["met"] * 19 + ["missed"])
    return found


@pytest.fixture
def over(programme, now):
    """The hand-over was nine days ago."""
    Programme.objects.filter(id=programme).update(handover_on=now.date() - timedelta(days=9), arrival_on="2026-04-01")
    return programme


def post(client, name, programme, *more, **given):
    return client.post(reverse(name, args=[programme, *more]), given)


def text_of(answer):
    return re.sub(r"\s+", " ", answer.content.decode()).replace("\N{NO-BREAK SPACE}", " ")


def test_address_of_a_new_link_is_shown_once(keeper_client, programme):
    given = {"for_whom": "Aunt Ida", "allows": "write", "weeks": "10", "language": "de"}
    first = text_of(post(keeper_client, "family-link", programme, **given))
    address = re.search(r'value="(http://testserver/for/[\w-]{43}/)"', first)[1]
    assert Client().get(address).status_code == 200
    assert 'src="data:image/svg+xml' in first
    again = text_of(keeper_client.get(reverse("family-page", args=[programme])))
    assert address not in again
    assert "Aunt Ida" in again
    assert "last opened Tue 12 May" in again


@pytest.mark.parametrize(
    ("host", "told"), [("localhost", True), ("127.0.0.1:8412", True), ("testserver", False), ("testserver:8412", False)]
)
def test_address_that_leads_nowhere_from_another_phone_is_told_of(host, told, keeper_client, programme):
    given = {"for_whom": "a", "allows": "read", "weeks": "10", "language": "en"}
    answer = keeper_client.post(reverse("family-link", args=[programme]), given, headers={"host": host})
    assert ("opens on this computer alone" in text_of(answer)) is told


def test_link_without_a_name_is_refused_beside_its_field(keeper_client, programme):
    answer = post(keeper_client, "family-link", programme, for_whom=" ", allows="write", weeks="99", language="en")
    assert answer.status_code == 422
    assert "Everything you typed is still here." in text_of(answer)
    assert not FamilyLink.objects.exists()


def test_what_is_not_ticked_is_left_out(keeper_client, programme):
    keys = list(load_catalogue().behaviours)[:6]
    post(keeper_client, "family-choices", programme, words="Hello", parts=["today", "media"], behaviours=keys[:1])
    page = FamilyPage.objects.get()
    assert page.parts_left_out == ["food", "home", "next", "numbers", "outings", "safety"]
    assert set(page.behaviours_left_out) == set(keys[1:])
    assert page.words == "Hello"


def test_picture_is_added_shown_and_deleted(keeper_client, programme):
    sent = SimpleUploadedFile("../../etc/x.html", made_png(64, 48), content_type="text/html")
    assert post(keeper_client, "family-media-add", programme, file=sent, words="Moss").status_code == 302
    media = FamilyMedia.objects.get()
    shown = keeper_client.get(reverse("family-media-show", args=[programme, media.id]))
    assert shown["Content-Type"] == "image/jpeg"
    assert "Moss" in text_of(keeper_client.get(reverse("family-preview", args=[programme])))
    post(keeper_client, "family-media-delete", programme, media.id)
    assert not FamilyMedia.objects.exists()


@pytest.mark.parametrize("content", [b"", b"<svg onload='x'/>", b"plain words"])
def test_file_that_is_no_picture_is_refused_beside_its_field(content, keeper_client, programme):
    sent = SimpleUploadedFile("x.jpg", content, content_type="image/jpeg")
    answer = post(keeper_client, "family-media-add", programme, file=sent, words="Kept words")
    assert answer.status_code == 422
    assert "Kept words" in text_of(answer)
    assert not FamilyMedia.objects.exists()


def test_preview_speaks_both_languages_and_has_no_way_to_write(keeper_client, programme, works):
    for language, words in (("en", "It works in a quiet room."), ("de", "Es klappt in einem ruhigen Zimmer.")):
        shown = text_of(keeper_client.get(reverse("family-preview", args=[programme]), {"language": language}))
        assert words in shown
        assert "<form" not in shown
        assert "<script" not in shown


def test_line_of_the_lesson_is_ticked_with_who_did_it(keeper_client, actor, programme, now):
    post(keeper_client, "lesson", programme, key="ration", by="Ida", do="done")
    shown = text_of(keeper_client.get(reverse("lesson", args=[programme])))
    assert "done Tue 12 May, 09:30, Ida" in shown
    assert read_lesson(actor, programme, now=now).last_by == "Ida"


def test_what_is_still_to_do_stands_before_what_is_done(keeper_client, programme):
    post(keeper_client, "lesson", programme, key="outing", by="Ida", do="done")
    shown = text_of(keeper_client.get(reverse("lesson", args=[programme])))
    assert shown.index("Weighed and fed a meal") < shown.index("<summary>Done</summary>")
    assert shown.index("<summary>Done</summary>") < shown.index("Took it out, waited with it")


def test_newest_entries_stand_open_and_the_others_are_folded(keeper_client, over, works):
    for _ in range(11):
        post(keeper_client, "after-told", over, kind="outing", subject="done")
    shown = text_of(keeper_client.get(reverse("after", args=[over])))
    assert shown.count("<strong>Outside, done</strong>") == 11
    assert "<summary>3 before these</summary>" in shown
    assert shown.count("<ul") == shown.count("</ul>")
    assert shown.count("<details") == shown.count("</details>")


def test_stay_that_is_over_says_so_and_speaks_of_no_session_to_come(keeper_client, over, works):
    shown = text_of(keeper_client.get(reverse("programme", args=[over])))
    assert "The stay has ended." in shown
    assert "days left" not in shown
    assert "The plan gives it no session" not in shown
    assert "Chance at hand-over" not in shown


def test_list_of_families_tells_their_words_together(keeper_client, over, works):
    post(keeper_client, "after-told", over, kind="cue", subject=works.key, tries="2/3")
    shown = text_of(keeper_client.get(reverse("families")))
    assert re.search(r"Words that they told of: 2 of 3 worked, [0-3]\.?\d* expected\.", shown)


def test_empty_line_is_refused_and_an_unknown_one_not_found(keeper_client, programme):
    assert post(keeper_client, "lesson", programme, words=" ", do="add").status_code == 422
    assert post(keeper_client, "lesson", programme, key="no-such", do="done").status_code == 404
    assert post(keeper_client, "lesson", programme, item="no-id", do="done").status_code == 404
    assert not LessonItem.objects.exists()


def test_weeks_after_tell_of_overdue_due_and_coming_follow_ups(keeper_client, over, works):
    shown = text_of(keeper_client.get(reverse("after", args=[over])))
    assert "Week 1: Sun 10 May" in shown
    assert "due now" in shown
    assert f"{works.name}: three tries, without practice before" in shown
    assert "The family has told nothing of it yet." in shown


def test_told_on_the_telephone_is_written_down_as_that(keeper_client, over, works):
    answer = post(keeper_client, "after-told", over, kind="cue", subject=works.key, week="1", tries="2/3")
    assert answer.status_code == 302
    shown = text_of(keeper_client.get(reverse("after", args=[over])))
    assert "2 of 3 tries worked." in shown
    assert "told to Wren" in shown
    assert FamilyEntry.objects.filter(link=None).count() == 3


def test_odd_things_told_are_refused_and_the_words_stay(keeper_client, over):
    answer = post(keeper_client, "after-told", over, kind="incident", subject="moon", note="They said so")
    assert answer.status_code == 422
    assert "They said so" in text_of(answer)
    assert post(keeper_client, "after-told", over, kind="cue", subject="x", tries="٣/٣").status_code == 422
    assert not FamilyEntry.objects.exists()


def test_drawing_stands_beside_what_was_told(keeper_client, over, works):
    for _ in range(4):
        post(keeper_client, "after-told", over, kind="cue", subject=works.key, tries="1/1", entry=str(uuid4()))
    shown = keeper_client.get(reverse("after", args=[over])).content.decode()
    assert "<figure" in shown
    assert "4 of 4 in all" in shown


def test_call_settles_the_reasons_and_families_that_need_one_are_listed(keeper_client, over, works, dog):
    post(keeper_client, "after-told", over, kind="incident", subject="guarding", note="a chew")
    listed = text_of(keeper_client.get(reverse("families")))
    assert "Linden house" in listed
    assert "One is enough to call and to name the vet." in listed
    assert post(keeper_client, "after-call", over, words="x" * 3000).status_code == 422
    post(keeper_client, "after-call", over, words="Vet named")
    assert FamilyCall.objects.get().words == "Vet named"
    assert "One is enough" not in text_of(keeper_client.get(reverse("families")))


def test_stay_without_anything_has_all_its_pages(keeper_client, actor, new_programme):
    bare = new_programme(actor, n_goals=0, family="", resident=None)
    for name in ("family-page", "family-preview", "lesson", "after"):
        assert keeper_client.get(reverse(name, args=[bare])).status_code == 200
