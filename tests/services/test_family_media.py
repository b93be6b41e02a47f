"""Pictures on the family's page: carried by backup and export, gone for good when deleted."""

import io
import json
from base64 import b64decode

import pytest
from django.db import connection

from file_databases import file_database
from made_pictures import made_png
from pupilage.core.errors import Conflict, Forbidden, InvalidInput, NotFound
from pupilage.services import save_family_page
from pupilage.services.back_up import back_up
from pupilage.services.export_workspace import export_workspace
from pupilage.services.restore import restore
from pupilage.services.save_family_page import (
    NewMedia,
    add_family_media,
    delete_family_media,
    get_family_media,
    read_family_settings,
)
from pupilage.services.share_family_page import NewLink, make_family_link
from pupilage.storage.models import FamilyMedia

FAMILY = {"FamilyLink", "FamilyPage", "FamilyMedia", "FamilyEntry", "FamilyCall", "LessonItem"}


@pytest.fixture
def stay(tmp_path, django_db_blocker, intake, now):
    """A stay in a database that is a file: its actor, its id and the file."""
    from pupilage.services.open_workspace import NewWorkspace, open_workspace
    from pupilage.services.start_programme import start_programme

    with file_database(tmp_path / "pupilage.sqlite3", django_db_blocker) as file:
        actor = open_workspace(NewWorkspace("yard", "wren", "Wren", "Europe/Lisbon"), now=now)
        yield actor, start_programme(actor, intake, now=now), file


def everything_in(file):
    return b"".join(one.read_bytes() for one in file.parent.glob(f"{file.name}*") if not one.name.endswith(".lock"))


def test_deleted_picture_is_in_no_byte_of_the_database(stay, now):
    actor, programme, file = stay
    media = add_family_media(actor, programme, NewMedia(made_png(640, 480), "on the sofa"), now=now)
    body = get_family_media(actor, programme, media)[0]
    piece = body[len(body) // 2 : len(body) // 2 + 40]
    with connection.cursor() as cursor:
        cursor.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    assert piece in everything_in(file)
    delete_family_media(actor, programme, media, now=now)
    assert piece not in everything_in(file)
    with pytest.raises(NotFound):
        get_family_media(actor, programme, media)


def test_backup_and_restore_carry_links_and_pictures(stay, tmp_path, now):
    actor, programme, _ = stay
    media = add_family_media(actor, programme, NewMedia(made_png(64, 48)), now=now)
    token = make_family_link(actor, programme, NewLink("Linden house"), now=now)
    body = get_family_media(actor, programme, media)[0]
    backup = back_up(tmp_path / "backup.sqlite3", now=now).file
    delete_family_media(actor, programme, media, now=now)
    restore(backup, now=now)
    assert get_family_media(actor, programme, media)[0] == body
    from pupilage.services.share_family_page import open_family_link

    assert open_family_link(token, now=now).programme_id == programme


def test_export_has_every_table_of_the_family_with_the_picture_and_no_token(actor, programme, now):
    media = add_family_media(actor, programme, NewMedia(made_png(64, 48)), now=now)
    token = make_family_link(actor, programme, NewLink("Linden house"), now=now)
    out = io.StringIO()
    export_workspace(actor, out, now=now)
    tables = json.loads(out.getvalue())["tables"]
    assert set(tables) >= FAMILY
    assert b64decode(tables["FamilyMedia"][0]["body"]) == get_family_media(actor, programme, media)[0]
    assert token not in out.getvalue()


def test_only_so_many_and_only_by_who_may_write(actor, reader, stranger, programme, now, monkeypatch):
    with pytest.raises(Forbidden):
        add_family_media(reader, programme, NewMedia(made_png(64, 48)), now=now)
    with pytest.raises(NotFound):
        add_family_media(stranger, programme, NewMedia(made_png(64, 48)), now=now)
    with pytest.raises(InvalidInput):
        add_family_media(actor, programme, NewMedia(made_png(64, 48), "x" * 201), now=now)
    monkeypatch.setattr(save_family_page, "MOST_MEDIA", 2)
    for _ in range(2):
        media = add_family_media(actor, programme, NewMedia(made_png(64, 48)), now=now)
    with pytest.raises(Conflict, match="delete one first"):
        add_family_media(actor, programme, NewMedia(made_png(64, 48)), now=now)
    with pytest.raises(NotFound):
        delete_family_media(stranger, programme, media, now=now)
    assert FamilyMedia.objects.count() == 2


def test_list_reads_no_bytes(actor, programme, now, django_assert_num_queries):
    add_family_media(actor, programme, NewMedia(made_png(64, 48)), now=now)
    (line,) = read_family_settings(actor, programme).media
    assert (line.width, line.height) == (64, 48)
    assert not hasattr(line, "body")
