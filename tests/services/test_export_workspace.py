"""Everything of one workspace, and nothing of another, as JSON."""

import io
import json
from uuid import uuid4

import pytest
from django.apps import apps

from pupilage.core.care.exposures.log import Response
from pupilage.core.errors import Forbidden
from pupilage.services.export_workspace import export_workspace, owned_models
from pupilage.services.log_exposure import ExposureEntry, log_exposure
from pupilage.services.withdraw_exposure import withdraw_exposure
from pupilage.storage.models import AuditEntry, SessionEvent


@pytest.fixture
def export(now):
    def write(actor) -> dict:
        out = io.StringIO()
        export_workspace(actor, out, now=now)
        return json.loads(out.getvalue())

    return write


def test_every_table_with_an_owner_is_there(actor, programme, export):
    named = set(export(actor)["tables"])
    linked = {
        model.__name__
        for model in apps.get_app_config("storage").get_models()
        if any(getattr(f.related_model, "__name__", "") == "Workspace" for f in model._meta.concrete_fields)
    }
    assert linked <= named
    assert named == {model.__name__ for model in owned_models()} | {"User"}


def test_the_head_says_what_the_document_is(actor, export, now):
    document = export(actor)
    assert document["format"] == "pupilage-export"
    assert document["format_version"] == 1
    assert document["schema"].startswith("0")
    assert document["made_at"] == now.isoformat()
    assert document["workspace"]["id"] == str(actor.workspace_id)


def test_the_log_comes_out_as_it_was_written(actor, programme, new_session, export):
    session = new_session(actor, programme, "sit", "word", ["met", "missed"])
    document = export(actor)
    written = [row for row in document["tables"]["SessionEvent"] if row["session_id"] == str(session)]
    stored = list(SessionEvent.objects.filter(session_id=session).order_by("id"))
    assert [row["payload"] for row in written] == [row.payload for row in stored]
    assert [row["at"] for row in written] == [row.at.isoformat() for row in stored]
    assert len(document["tables"]["Trial"]) == 2


def test_exposures_come_out_with_what_was_taken_back(actor, programme, dog, export, now):
    event_id = uuid4()
    entry = ExposureEntry("grass", now, 2, Response.UNSURE, distance_m=3.5, recovery_s=12.0, event_id=event_id)
    log_exposure(actor, dog, entry, now=now)
    withdraw_exposure(actor, dog, event_id, now=now)
    rows = export(actor)["tables"]["ExposureEvent"]
    assert [(row["kind"], row["item"], row["distance_m"]) for row in rows] == [
        ("met", "grass", 3.5),
        ("withdrawn", "", None),
    ]
    assert rows[1]["withdraws"] == str(event_id)


def test_nothing_of_another_workspace_is_in_it(actor, stranger, programme, new_programme, new_session, export):
    theirs = new_programme(stranger)
    new_session(stranger, theirs, "sit", "word", ["met"])
    text = json.dumps(export(actor))
    assert str(theirs) not in text
    assert str(stranger.workspace_id) not in text
    assert "corvin" not in text


def test_no_password_and_no_sign_in_link_is_in_it(actor, export, now):
    from pupilage.services.sign_in import issue_sign_in_link

    issue_sign_in_link(actor.user_id, now=now)
    document = export(actor)
    assert document["tables"]["User"] == [{"id": str(actor.user_id), "username": "wren", "display_name": "Wren"}]
    assert "password" not in json.dumps(document)
    assert "token_hash" not in json.dumps(document)


def test_the_counts_are_those_of_the_rows(actor, programme, now):
    out = io.StringIO()
    exported = export_workspace(actor, out, now=now)
    document = json.loads(out.getvalue())
    assert exported.n_rows == {name: len(rows) for name, rows in document["tables"].items()}
    assert exported.n_rows["Goal"] == 6


def test_only_a_keeper_takes_everything_out(reader, now):
    with pytest.raises(Forbidden):
        export_workspace(reader, io.StringIO(), now=now)


def test_an_export_leaves_one_audit_row(actor, export):
    export(actor)
    assert AuditEntry.objects.filter(action="export-workspace").count() == 1
