"""The family's page, signed out: what it shows, what it takes down, how it refuses; small enough for an old phone."""

import re
from datetime import timedelta
from uuid import UUID, uuid4

import pytest
from django.core.cache import cache
from django.test import Client
from django.urls import reverse

from made_pictures import PLACE, made_clip, made_jpeg, made_png
from pupilage.core.handover.family_parts import Part
from pupilage.core.handover.reading_grade import grade
from pupilage.services.log_family_entry import MOST_A_DAY
from pupilage.services.read_after_handover import read_after_handover
from pupilage.services.read_family_view import read_family_view
from pupilage.services.save_family_page import Choices, NewMedia, add_family_media, save_family_choices
from pupilage.services.set_goals import GoalChoice, set_goals
from pupilage.services.share_family_page import NewLink, make_family_link, open_family_link
from pupilage.storage.catalogue_files import load_catalogue
from pupilage.storage.models import CareEvent, FamilyEntry, FamilyLink, FamilyMedia, Incident, Programme, Trial
from pupilage.web.guessing import MOST

pytestmark = pytest.mark.django_db

LARGEST_KB = 100
GUESS = "A" * 43


@pytest.fixture(autouse=True)
def no_guesses_yet():
    cache.clear()


@pytest.fixture
def token(actor, programme, now):
    return make_family_link(actor, programme, NewLink("Linden house", may_write=True), now=now)


@pytest.fixture
def trained(actor, programme, new_session):
    """Twenty tries of one behaviour at a first step, in a quiet room."""
    behaviour = next(iter(load_catalogue().behaviours.values()))
    new_session(actor, programme, behaviour.key, behaviour.steps[0].key, ["met"] * 18 + ["missed"] * 2)
    return behaviour


def page(token, client=None):
    return (client or Client()).get(reverse("family", args=[token]))


def write(token, client=None, **given):
    return (client or Client()).post(reverse("family-log", args=[token]), {"entry": str(uuid4()), **given})


def text_of(answer):
    return re.sub(r"\s+", " ", answer.content.decode()).replace("\N{NO-BREAK SPACE}", " ")


def test_page_opens_signed_out_and_says_how_it_is_known(token, trained):
    answer = page(token)
    assert answer.status_code == 200
    assert "Tansy today" in text_of(answer)
    assert "18 of the last 20 tries worked." in text_of(answer)
    assert "It works in a quiet room." in text_of(answer)


@pytest.mark.parametrize(
    ("language", "before", "after"),
    [
        ("en", "As of 12 May 2026, from", "What it can do: as of 3 May 2026, when it came to you from"),
        ("de", "Stand 12. Mai 2026, von", "Was er kann: Stand 3. Mai 2026, als er von"),
    ],
)
def test_page_says_of_which_day_its_record_is(language, before, after, actor, programme, trained, now):
    token = make_family_link(actor, programme, NewLink("Oma", language=language), now=now)
    assert before in text_of(page(token))
    gone_on = now.date() - timedelta(days=9)
    Programme.objects.filter(id=programme).update(handover_on=gone_on, arrival_on=gone_on - timedelta(days=21))
    said = text_of(page(token))
    assert after in said
    assert before not in said


def test_page_sets_no_cookie_asks_no_other_host_and_stays_out_of_indexes(token, trained):
    answer = page(token)
    assert not answer.cookies
    assert answer["Referrer-Policy"] == "no-referrer"
    assert answer["X-Robots-Tag"] == "noindex, nofollow, noarchive"
    assert answer["Cache-Control"] == "private, no-store"
    assert answer["Content-Security-Policy"].startswith("default-src 'self'")
    assert "unsafe" not in answer["Content-Security-Policy"]
    found = re.findall(r'(?:src|href|action)="([^"]+)"', answer.content.decode())
    assert found
    assert all(one.startswith(("/", "#")) and not one.startswith("//") for one in found)


def test_page_has_no_way_to_the_trainers_pages(token, trained, keeper_client):
    for client in (Client(), keeper_client):
        found = re.findall(r'(?:href|action)="([^"]+)"', page(token, client).content.decode())
        assert all(one.startswith((f"/for/{token}/", "/static/", "static/")) for one in found), found


def test_page_in_german_is_german(actor, programme, trained, now):
    token = make_family_link(actor, programme, NewLink("Oma", language="de", may_write=True), now=now)
    said = text_of(page(token))
    assert '<html lang="de">' in said
    assert "Es klappt in einem ruhigen Zimmer." in said
    assert "Drinnen passiert" in said
    for english in ("It works", "Next:", "Write", "How we know", "What to do"):
        assert english not in said


@pytest.mark.parametrize("language", ["en", "de"])
def test_page_with_the_whole_catalogue_is_under_100_kb_with_style_and_script(
    language, actor, programme, trained, now, settings
):
    behaviours = load_catalogue().behaviours.values()
    set_goals(actor, programme, [GoalChoice(one.key, one.target, 3) for one in behaviours], now=now)
    token = make_family_link(actor, programme, NewLink("a", language=language, may_write=True), now=now)
    for _ in range(30):
        write(token, kind="outing", subject="done")
    folder = settings.PACKAGE / "web" / "static" / "pupilage"
    beside = sum((folder / name).stat().st_size for name in ("family.css", "family.js", "icon.svg"))
    assert len(page(token).content) + beside < LARGEST_KB * 1000


@pytest.mark.parametrize("language", ["en", "de"])
def test_page_is_easy_to_read(language, actor, programme, trained, now):
    behaviours = load_catalogue().behaviours.values()
    set_goals(actor, programme, [GoalChoice(one.key, one.target, 3) for one in behaviours], now=now)
    token = make_family_link(actor, programme, NewLink("a", language=language), now=now)
    view = read_family_view(open_family_link(token, now=now), now=now)
    found = grade([one for one in view.text.sentences() if one])
    assert found.n_words > 500
    assert found.lix < 35
    assert language == "de" or found.school_years < 5


def test_script_is_plain_enough_for_an_old_phone(settings):
    script = (settings.PACKAGE / "web" / "static" / "pupilage" / "family.js").read_text(encoding="utf-8")
    assert not re.search(r"=>|`|\b(let|const|class|import|export|async|await|fetch|Promise)\b", script)
    style = (settings.PACKAGE / "web" / "static" / "pupilage" / "family.css").read_text(encoding="utf-8")
    assert "var(--" not in style
    assert "grid" not in style


@pytest.mark.parametrize("method", ["get", "post"])
def test_late_stopped_and_guessed_links_get_one_and_the_same_page(method, token, actor, programme, now, monkeypatch):
    stopped = make_family_link(actor, programme, NewLink("b"), now=now)
    FamilyLink.objects.filter(for_whom="b").update(revoked_at=now)
    late = make_family_link(actor, programme, NewLink("c"), now=now)
    FamilyLink.objects.filter(for_whom="c").update(expires_at=now)
    name = "family" if method == "get" else "family-log"
    answers = [getattr(Client(), method)(reverse(name, args=[one])) for one in (stopped, late, GUESS)]
    assert {answer.status_code for answer in answers} == {404}
    assert len({answer.content for answer in answers}) == 1
    headers = [dict(answer.items()) for answer in answers]
    assert headers[0] == headers[1] == headers[2]
    assert headers[0]["Referrer-Policy"] == "no-referrer"
    assert "This link does not open anything." in text_of(answers[0])
    assert "Dieser Link öffnet nichts." in text_of(answers[0])


def test_who_guesses_is_told_to_wait_and_a_good_link_still_opens(token):
    answers = [page(GUESS).status_code for _ in range(MOST + 1)]
    assert answers == [404] * MOST + [429]
    assert page(GUESS)["Retry-After"] == "600"
    assert page(token).status_code == 200


def test_what_was_typed_to_a_stopped_link_comes_back_to_be_copied(token, now):
    FamilyLink.objects.update(revoked_at=now)
    answer = write(token, kind="incident", subject="digging", note="She dug up <the> roses")
    assert answer.status_code == 404
    assert "She dug up &lt;the&gt; roses" in answer.content.decode()
    assert not FamilyEntry.objects.exists()


def test_taps_are_kept_as_the_familys_and_mixed_into_nothing(token, actor, programme, trained, now):
    write(token, kind="outing", subject="accident")
    write(token, kind="cue", subject=trained.key, tries="1/1")
    write(token, kind="incident", subject="digging", note="roses")
    write(token, kind="call-me")
    assert list(FamilyEntry.objects.order_by("id").values_list("kind", "subject", "met")) == [
        ("outing", "accident", None),
        ("cue", trained.key, True),
        ("incident", "digging", None),
        ("call-me", "", None),
    ]
    assert (CareEvent.objects.count(), Incident.objects.count(), Trial.objects.count()) == (0, 0, 20)
    assert {one.by for one in read_after_handover(actor, programme, now=now).entries} == {"Linden house"}


def test_tap_sent_twice_is_one_and_another_tap_of_the_same_page_is_another(token):
    entry = str(uuid4())
    told = [write(token, entry=entry, kind="outing", subject=word)["Location"] for word in ("done", "done", "accident")]
    assert ["done=yes" in one for one in told] == [True, False, True]
    assert FamilyEntry.objects.count() == 2
    assert "Nothing was added" in text_of(Client().get(told[1]))


def test_tap_that_waited_on_the_phone_keeps_its_time(token, now):
    write(token, kind="outing", subject="done", at_utc=(now - timedelta(hours=3)).isoformat())
    assert FamilyEntry.objects.get().at == now - timedelta(hours=3)


def test_local_time_is_that_of_the_workspace(token):
    write(token, kind="incident", subject="digging", at="2026-05-12T08:00")
    assert FamilyEntry.objects.get().at.isoformat() == "2026-05-12T07:00:00+00:00"


@pytest.mark.parametrize(
    "given",
    [
        {},
        {"kind": "withdrawn"},
        {"kind": "outing", "subject": "moon"},
        {"kind": "cue", "subject": "no-such-thing", "tries": "1/1"},
        {"kind": "cue", "tries": "9/3"},
        {"kind": "cue", "tries": "\N{SUPERSCRIPT TWO}/3"},
        {"kind": "incident", "subject": "digging", "at": "yesterday"},
        {"kind": "incident", "subject": "digging", "at": "2031-01-01T10:00"},
        {"kind": "incident", "subject": "digging", "at": "1999-01-01T10:00"},
        {"kind": "incident", "subject": "digging", "note": "x" * 3000},
        {"kind": "cue", "tries": "1/1", "week": "3"},
        {"take_back": str(UUID(int=7))},
    ],
)
def test_odd_input_is_refused_in_words_and_what_was_typed_is_still_there(given, token, trained):
    given = {"note": "Grandma was here", "subject": trained.key, **given}
    answer = write(token, **given)
    assert answer.status_code == 422
    assert 'role="alert"' in answer.content.decode()
    if given.get("kind") == "incident":
        assert given["note"] in answer.content.decode()
    assert not FamilyEntry.objects.exists()


def test_note_in_any_script_comes_back_as_it_was(token):
    note = "قال: تانسي 😀 <b>好</b> " * 20
    write(token, kind="incident", subject="digging", note=note)
    assert FamilyEntry.objects.get().note == note.strip()
    assert "&lt;b&gt;好&lt;/b&gt;" in page(token).content.decode()


def test_family_takes_its_own_entry_back_and_no_other_links(token, actor, programme, now):
    other = make_family_link(actor, programme, NewLink("b", may_write=True), now=now)
    write(token, kind="outing", subject="accident")
    entry = str(FamilyEntry.objects.get().entry_id)
    assert write(other, take_back=entry).status_code == 422
    for _ in range(2):
        assert write(token, take_back=entry).status_code == 302
    assert FamilyEntry.objects.count() == 2
    assert read_after_handover(actor, programme, now=now).n_told == 0


def test_link_that_only_shows_takes_nothing_down(actor, programme, now):
    token = make_family_link(actor, programme, NewLink("Aunt"), now=now)
    assert "<form" not in page(token).content.decode()
    assert write(token, kind="outing", subject="done").status_code == 422
    assert not FamilyEntry.objects.exists()


def test_one_link_cannot_fill_the_disk(token):
    FamilyEntry.objects.bulk_create(
        FamilyEntry(
            workspace_id=link.workspace_id,
            entry_id=uuid4(),
            programme_id=link.programme_id,
            link=link,
            kind="outing",
            subject="done",
            at=link.made_at,
            received_at=link.made_at,
        )
        for link in [FamilyLink.objects.get()]
        for _ in range(MOST_A_DAY)
    )
    assert write(token, kind="outing", subject="done").status_code == 422


def test_what_the_trainer_leaves_out_is_not_in_the_page(token, actor, programme, trained, now):
    shown = text_of(page(token))
    choices = Choices(frozenset(Part), frozenset({trained.key}), "See you on Sunday!")
    save_family_choices(actor, programme, choices, now=now)
    left = text_of(page(token))
    assert "See you on Sunday!" in left
    for gone in (trained.name, "18 of the last 20", "What to do at home", "Out to the toilet", "When to call the vet"):
        assert gone in shown, gone
        assert gone not in left, gone


def test_cue_that_is_not_shown_cannot_be_written_down(token, actor, programme, trained, now):
    save_family_choices(actor, programme, Choices(behaviours_left_out=frozenset({trained.key})), now=now)
    assert write(token, kind="cue", subject=trained.key, tries="1/1").status_code == 422


def test_nothing_of_another_stay_of_the_same_trainer_is_open(token, actor, new_programme, trained, now):
    from dataclasses import replace

    other = new_programme(actor, family="Poplar farm")
    add_family_media(actor, other, NewMedia(made_png(64, 48), "not yours"), now=now)
    other_token = make_family_link(actor, other, NewLink("Poplar", may_write=True), now=now)
    write(other_token, kind="outing", subject="accident")
    entry = str(FamilyEntry.objects.get().entry_id)
    media = FamilyMedia.objects.get().id
    assert "Poplar" not in text_of(page(token))
    assert Client().get(reverse("family-media", args=[token, media])).status_code == 404
    assert write(token, take_back=entry).status_code == 422
    guest = open_family_link(token, now=now)
    mixed = replace(guest, programme_id=other)
    with pytest.raises(Exception, match="does not exist"):
        read_family_view(mixed, now=now)


@pytest.mark.parametrize(("made", "kind"), [(made_jpeg(640, 480), "image/jpeg"), (made_clip(1.0), "video/mp4")])
def test_picture_is_given_as_what_it_is_without_its_place(made, kind, token, actor, programme, now):
    assert PLACE in made
    media = add_family_media(actor, programme, NewMedia(made, "Moss and Tansy", with_sound=True), now=now)
    assert "Moss and Tansy" in text_of(page(token))
    answer = Client().get(reverse("family-media", args=[token, media]))
    assert answer.status_code == 200
    assert PLACE not in answer.content
    assert b"ISO6709" not in answer.content
    assert answer["Content-Type"] == kind
    assert answer["X-Content-Type-Options"] == "nosniff"
    assert answer["Content-Security-Policy"].startswith("default-src 'none'")
    assert answer["Content-Disposition"].startswith("inline; filename=")
    assert not answer.cookies


def test_player_gets_the_range_that_it_asks_for(token, actor, programme, now):
    media = add_family_media(actor, programme, NewMedia(made_clip(1.0)), now=now)
    address = reverse("family-media", args=[token, media])
    whole = Client().get(address).content
    part = Client().get(address, HTTP_RANGE="bytes=10-19")
    assert (part.status_code, part.content) == (206, whole[10:20])
    assert part["Content-Range"] == f"bytes 10-19/{len(whole)}"
    assert Client().get(address, HTTP_RANGE="bytes=-5").content == whole[-5:]
    for odd in ("bytes=9-2", "bytes=a-b", "bytes=0-1,4-5", "lines=1-2", f"bytes={len(whole)}-"):
        assert Client().get(address, HTTP_RANGE=odd).status_code == 200, odd


def test_missing_picture_is_a_decent_page(token, actor, programme, now):
    media = add_family_media(actor, programme, NewMedia(made_png(64, 48)), now=now)
    save_family_choices(actor, programme, Choices(frozenset({Part.MEDIA})), now=now)
    for one in (media, uuid4()):
        answer = Client().get(reverse("family-media", args=[token, one]))
        assert answer.status_code == 404
        assert "This picture cannot be shown" in text_of(answer)
        assert answer["Referrer-Policy"] == "no-referrer"


def test_name_in_any_script_and_a_stay_without_goals_give_a_page(actor, new_programme, intake, now):
    from dataclasses import replace

    for name in ("توتي", "小白", "🐾", "x" * 80):
        stay = new_programme(actor, n_goals=0, pup=replace(intake.pup, name=name))
        token = make_family_link(actor, stay, NewLink("a", may_write=True), now=now)
        answer = page(token)
        assert answer.status_code == 200
        assert name in answer.content.decode()
