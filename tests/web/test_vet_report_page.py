"""The page for a veterinarian: what it shows, what it leaves out, and its file."""

from django.urls import reverse

from pupilage.storage.models import AuditEntry

GIVEN = {"first": "2026-05-01", "last": "2026-05-31", "language": "en", "paper": "letter", "unit": "lb"}


def test_page_says_that_no_entry_is_not_none(keeper_client, dog):
    text = keeper_client.get(reverse("vet-report", args=[dog])).content.decode()
    assert "No entry is not the same as “none”" in text
    assert "It is no diagnosis, and it names no cause." in text


def test_button_gives_a_pdf_and_writes_one_audit_row(keeper_client, dog):
    answer = keeper_client.post(reverse("vet-report", args=[dog]), GIVEN)
    assert answer["Content-Type"] == "application/pdf"
    assert answer["Cache-Control"] == "no-store"
    row = AuditEntry.objects.get(action="make-vet-report")
    assert (row.subject, row.detail["first"]) == (str(dog), "2026-05-01")


def test_parts_left_out_are_not_shown(keeper_client, dog):
    address = reverse("vet-report", args=[dog])
    text = keeper_client.get(address, GIVEN | {"leave_out": ["toilet", "weight"]}).content.decode()
    assert "<h2>Toilet record</h2>" not in text
    assert "<h2>Time alone</h2>" in text


def test_period_that_ends_before_it_begins_is_refused_on_the_page(keeper_client, dog):
    for method in (keeper_client.get, keeper_client.post):
        answer = method(reverse("vet-report", args=[dog]), GIVEN | {"last": "2026-04-01"})
        assert answer.status_code == 422
        assert "before it begins" in answer.content.decode()
    assert not AuditEntry.objects.filter(action="make-vet-report").exists()


def test_reader_may_read_the_page_but_makes_no_file(client, reader, dog):
    from pupilage.storage.models import User

    client.force_login(User.objects.get(id=reader.user_id))
    assert client.get(reverse("vet-report", args=[dog])).status_code == 200
    assert client.post(reverse("vet-report", args=[dog]), GIVEN).status_code == 403
