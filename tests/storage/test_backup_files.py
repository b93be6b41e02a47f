"""Copies of a database: whole and checked, or not there at all."""

import os
import shutil
import sqlite3
import subprocess
import sys
from contextlib import closing
from pathlib import Path

import pytest

from pupilage.core.errors import Conflict, StorageTrouble
from pupilage.storage.backup import copy_database, require_ours
from pupilage.storage.database import migrate, require_whole
from pupilage.storage.files import set_aside, whole_file
from pupilage.storage.models import User
from pupilage.storage.troubles import Damaged
from small_disks import small_disk


def test_a_copy_holds_what_still_stands_in_the_write_ahead_log(database: Path, tmp_path: Path, now) -> None:
    User.objects.create(username="wren")
    assert database.with_name(database.name + "-wal").stat().st_size > 0
    plain, copy = tmp_path / "plain.sqlite3", tmp_path / "copy.sqlite3"
    shutil.copyfile(database, plain)
    copy_database(database, copy)
    assert _usernames(copy) == ["wren"]
    assert _usernames(plain) == []


def test_a_copy_is_one_file(database: Path, tmp_path: Path) -> None:
    folder = tmp_path / "backups"
    copy_database(database, folder / "copy.sqlite3")
    assert [file.name for file in folder.iterdir()] == ["copy.sqlite3"]
    with closing(sqlite3.connect(folder / "copy.sqlite3")) as connection:
        assert connection.execute("PRAGMA journal_mode").fetchone()[0] == "delete"


def test_a_copy_overwrites_nothing(database: Path, tmp_path: Path) -> None:
    taken = tmp_path / "taken.txt"
    taken.write_text("mine", encoding="utf-8")
    with pytest.raises(Conflict, match="exists already"):
        copy_database(database, taken)
    assert taken.read_text(encoding="utf-8") == "mine"


def test_a_damaged_database_is_not_copied(database: Path, tmp_path: Path) -> None:
    damaged = tmp_path / "damaged.sqlite3"
    damaged.write_bytes(_half(database))
    with pytest.raises(Damaged, match="damaged or half-written"):
        copy_database(damaged, tmp_path / "copy.sqlite3")
    assert not (tmp_path / "copy.sqlite3").exists()
    assert not list(tmp_path.glob(".copy*"))


def test_a_full_disk_leaves_no_half_copy(database: Path, tmp_path: Path) -> None:
    with small_disk(tmp_path / "small", kib=128) as folder:
        with pytest.raises(StorageTrouble, match="disk is full"):
            copy_database(database, folder / "copy.sqlite3")
        assert list(folder.iterdir()) == []


def test_a_file_size_limit_leaves_no_half_copy(database: Path, tmp_path: Path) -> None:
    """A disk quota of another kind: the system refuses the write itself."""
    copy = tmp_path / "limited" / "copy.sqlite3"
    script = (
        "import resource, sys, pathlib, django; resource.setrlimit(resource.RLIMIT_FSIZE, (65536, 65536)); "
        "django.setup(); from pupilage.storage.backup import copy_database; "
        "from pupilage.core.errors import StorageTrouble\n"
        "try: copy_database(pathlib.Path(sys.argv[1]), pathlib.Path(sys.argv[2]))\n"
        "except StorageTrouble as trouble: print('refused:', trouble)"
    )
    environment = {**os.environ, "DJANGO_SETTINGS_MODULE": "pupilage.settings.local"}
    said = subprocess.run(
        [sys.executable, "-c", script, str(database), str(copy)], env=environment, capture_output=True, text=True
    )
    assert said.stdout.startswith("refused:"), said.stderr
    assert list(copy.parent.iterdir()) == []


@pytest.mark.parametrize("content", [b"", b"no database at all, but text\n" * 50])
def test_a_file_that_is_no_database_of_ours_is_refused(tmp_path: Path, database: Path, content: bytes) -> None:
    file = tmp_path / "other"
    file.write_bytes(content)
    with pytest.raises((Conflict, StorageTrouble)):
        require_ours(file)
    assert file.read_bytes() == content


def test_a_database_of_another_program_is_refused(tmp_path: Path, database: Path) -> None:
    file = tmp_path / "other.sqlite3"
    with closing(sqlite3.connect(file)) as connection:
        connection.execute("CREATE TABLE plants (name)")
    with pytest.raises(Conflict, match="no database of Pupilage"):
        require_ours(file)


def test_a_database_of_a_newer_version_is_refused(database: Path, tmp_path: Path) -> None:
    newer = tmp_path / "newer.sqlite3"
    copy_database(database, newer)
    with closing(sqlite3.connect(newer)) as connection, connection:
        connection.execute("INSERT INTO django_migrations (app, name, applied) VALUES ('storage', '0999_later', '')")
    with pytest.raises(Conflict, match="newer Pupilage"):
        require_ours(newer)


def test_a_missing_file_is_named(tmp_path: Path, database: Path) -> None:
    with pytest.raises(StorageTrouble, match=r"There is no file .*gone"):
        require_ours(tmp_path / "gone")


@pytest.mark.parametrize("share", [0.01, 0.5, 0.9])
def test_a_half_written_database_is_refused_and_left_as_it_is(database: Path, tmp_path: Path, share: float) -> None:
    half = tmp_path / "half.sqlite3"
    half.write_bytes(_half(database, share))
    before = half.read_bytes()
    with pytest.raises(Damaged, match="damaged or half-written"):
        require_whole(half)
    assert half.read_bytes() == before


def test_migrating_a_migrated_database_does_nothing(database: Path) -> None:
    assert migrate() == []


def test_setting_aside_never_overwrites(tmp_path: Path, now) -> None:
    names = []
    for text in ("first", "second", "third"):
        file = tmp_path / "a.sqlite3"
        file.write_text(text, encoding="utf-8")
        names.append(set_aside(file, now=now, why="before"))
    assert [name.read_text(encoding="utf-8") for name in names] == ["first", "second", "third"]
    assert names[0].name == "a-before-20260512-083000.sqlite3"


def test_setting_aside_takes_the_log_along(tmp_path: Path, now) -> None:
    file = tmp_path / "a.sqlite3"
    for name in ("a.sqlite3", "a.sqlite3-wal", "a.sqlite3-shm"):
        (tmp_path / name).write_text(name, encoding="utf-8")
    aside = set_aside(file, now=now, why="before")
    assert aside.with_name(aside.name + "-wal").read_text(encoding="utf-8") == "a.sqlite3-wal"
    assert not list(tmp_path.glob("a.sqlite3*"))


def test_a_file_that_could_not_be_finished_is_not_there(tmp_path: Path) -> None:
    def write() -> None:
        with whole_file(tmp_path / "a.json") as unfinished:
            unfinished.write_text("half", encoding="utf-8")
            raise RuntimeError

    with pytest.raises(RuntimeError):
        write()
    assert list(tmp_path.iterdir()) == []


def _usernames(file: Path) -> list[str]:
    with closing(sqlite3.connect(file)) as connection:
        return [row[0] for row in connection.execute("SELECT username FROM storage_user")]


def _half(database: Path, share: float = 0.5) -> bytes:
    """Return the first part of the database's pages, as a copy that was broken off leaves them."""
    whole = database.with_name("whole.sqlite3")
    if not whole.exists():
        copy_database(database, whole)
    content = whole.read_bytes()
    return content[: round(len(content) * share)]
