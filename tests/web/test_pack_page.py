"""The page of the pack: a button that downloads, and the trainer's words."""

from django.urls import reverse

from pupilage.storage.models import AuditEntry, HandoverWords

PRINTED = {"language": "de", "paper": "letter", "unit": "lb", "large": "on"}


def test_button_downloads_a_pdf_that_no_cache_keeps(keeper_client, programme):
    answer = keeper_client.post(reverse("pack", args=[programme]), PRINTED)
    assert answer.status_code == 200
    assert answer["Content-Type"] == "application/pdf"
    assert answer["Content-Disposition"] == 'attachment; filename="tansy-de.pdf"'
    assert answer["Cache-Control"] == "no-store"
    assert answer.content.startswith(b"%PDF-1.7")
    assert AuditEntry.objects.filter(action="make-pack").count() == 1


def test_unknown_choice_shows_the_page_again(keeper_client, programme):
    answer = keeper_client.post(reverse("pack", args=[programme]), PRINTED | {"language": "xx"})
    assert "text/html" in answer["Content-Type"]
    assert "please look at what is marked" in answer.content.decode()
    assert not AuditEntry.objects.filter(action="make-pack").exists()


def test_words_are_kept_and_shown_again(keeper_client, programme):
    given = {"release_word": "Free", "house_rules": "No shoes.\nQuiet.", "note": "Thank you."}
    answer = keeper_client.post(reverse("pack-words", args=[programme]), given, follow=True)
    assert "No shoes." in answer.content.decode()
    assert HandoverWords.objects.get().release_word == "Free"


def test_words_that_are_too_long_stay_on_the_page_with_the_reason(keeper_client, programme):
    answer = keeper_client.post(reverse("pack-words", args=[programme]), {"release_word": "x" * 41})
    assert answer.status_code == 422
    assert "x" * 41 in answer.content.decode()
    assert "letters at most" in answer.content.decode()
    assert not HandoverWords.objects.exists()


def test_stay_links_to_its_pack(keeper_client, programme):
    assert (
        reverse("pack", args=[programme]) in keeper_client.get(reverse("programme", args=[programme])).content.decode()
    )
