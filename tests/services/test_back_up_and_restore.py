"""A backup comes back as it was; what stood in its place is kept."""

import shutil
from contextlib import suppress
from pathlib import Path

import pytest

from file_databases import file_database
from pupilage.core.errors import Conflict, StorageTrouble
from pupilage.services.back_up import back_up
from pupilage.services.restore import restore
from pupilage.settings.environment import data_folder
from pupilage.storage.database import database_at, find_database_file
from pupilage.storage.locking import server_lock
from pupilage.storage.models import Installation, User
from pupilage.storage.troubles import Damaged
from small_disks import small_disk


@pytest.fixture
def database(tmp_path, django_db_blocker):
    with file_database(tmp_path / "pupilage.sqlite3", django_db_blocker) as file:
        Installation.objects.create()
        yield file


def usernames() -> list[str]:
    return list(User.objects.order_by("username").values_list("username", flat=True))


def test_a_backup_goes_to_a_dated_file_of_the_data_folder(database, now):
    made = back_up(now=now)
    assert made.file == data_folder() / "backups" / "pupilage-20260512-083000.sqlite3"
    assert made.n_bytes == made.file.stat().st_size > 0


def test_a_backup_overwrites_nothing(database, now):
    back_up(now=now)
    with pytest.raises(Conflict, match="exists already"):
        back_up(now=now)


def test_what_was_backed_up_comes_back_and_the_present_is_kept(database, tmp_path, now):
    User.objects.create(username="before")
    backup = back_up(tmp_path / "backup.sqlite3", now=now).file
    User.objects.create(username="after")
    done = restore(backup, now=now)
    assert usernames() == ["before"]
    assert done.set_aside is not None
    with database_at(done.set_aside):
        assert usernames() == ["after", "before"]
    assert done.set_aside.name == "pupilage-before-restore-20260512-083000.sqlite3"


def test_a_restored_database_has_another_id(database, tmp_path, now):
    """A phone that knew the former id keeps what it has not sent, instead of trusting an older log."""
    former = Installation.objects.get().database_id
    restore(back_up(tmp_path / "backup.sqlite3", now=now).file, now=now)
    installation = Installation.objects.get()
    assert installation.database_id != former
    assert installation.restored_at == now


def test_the_backup_itself_is_not_touched(database, tmp_path, now):
    backup = back_up(tmp_path / "backup.sqlite3", now=now).file
    before = backup.read_bytes()
    restore(backup, now=now)
    restore(backup, now=now)
    assert backup.read_bytes() == before


def test_a_restore_into_an_empty_folder_needs_nothing_there(database, tmp_path, now):
    User.objects.create(username="wren")
    backup = back_up(tmp_path / "backup.sqlite3", now=now).file
    (tmp_path / "new").mkdir()
    with database_at(tmp_path / "new" / "pupilage.sqlite3"):
        done = restore(backup, now=now)
        assert done.set_aside is None
        assert usernames() == ["wren"]


def test_a_damaged_database_is_replaced_and_kept(database, tmp_path, now):
    User.objects.create(username="wren")
    backup = back_up(tmp_path / "backup.sqlite3", now=now).file
    damaged = tmp_path / "damaged.sqlite3"
    damaged.write_bytes(backup.read_bytes()[:5000])
    with database_at(damaged):
        done = restore(backup, now=now)
        assert usernames() == ["wren"]
    assert done.set_aside is not None
    assert done.set_aside.read_bytes() == backup.read_bytes()[:5000]


def test_nothing_is_restored_while_a_server_runs(database, tmp_path, now):
    backup = back_up(tmp_path / "backup.sqlite3", now=now).file
    User.objects.create(username="after")
    with server_lock(database, "http://localhost:8412"), pytest.raises(Conflict, match="http://localhost:8412"):
        restore(backup, now=now)
    assert usernames() == ["after"]


def test_a_half_written_backup_leaves_the_database_as_it_was(database, tmp_path, now):
    backup = back_up(tmp_path / "backup.sqlite3", now=now).file
    backup.write_bytes(backup.read_bytes()[:40000])
    User.objects.create(username="wren")
    with pytest.raises(Damaged):
        restore(backup, now=now)
    assert usernames() == ["wren"]
    assert find_database_file() == database


def test_a_full_disk_leaves_the_database_as_it_was(database, tmp_path, now):
    User.objects.create(username="wren")
    backup = back_up(tmp_path / "backup.sqlite3", now=now).file
    n_kib = backup.stat().st_size // 1024
    with small_disk(tmp_path / "small", kib=n_kib + n_kib // 2) as folder:
        present = folder / "pupilage.sqlite3"
        shutil.copyfile(backup, present)
        with database_at(present), pytest.raises(StorageTrouble, match="disk is full"):
            restore(backup, now=now)
        assert sorted(file.name for file in folder.iterdir()) == ["pupilage.sqlite3", "pupilage.sqlite3.lock"]
        assert present.read_bytes() == backup.read_bytes()


def test_a_file_that_cannot_be_moved_in_leaves_the_database_as_it_was(database, tmp_path, now, monkeypatch):
    backup = back_up(tmp_path / "backup.sqlite3", now=now).file
    User.objects.create(username="wren")
    real = Path.rename

    def fail(self: Path, target: Path) -> Path:
        if self.name.endswith(".restored"):
            raise OSError(5, "Input/output error", str(self))
        return real(self, target)

    monkeypatch.setattr(Path, "rename", fail)
    with suppress(OSError):
        restore(backup, now=now)
    assert usernames() == ["wren"]


@pytest.mark.parametrize("do", ["back_up", "restore"])
def test_postgresql_has_its_own_tools(do, now, monkeypatch):
    from pupilage.storage import database

    monkeypatch.setattr(database, "find_database_file", lambda: None)
    with pytest.raises(Conflict, match="pg_dump" if do == "back_up" else "pg_restore"):
        back_up(now=now) if do == "back_up" else restore(Path("any"), now=now)
