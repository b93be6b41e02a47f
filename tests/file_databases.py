"""A migrated SQLite file with the real settings: Django's own test database is in memory, where nothing locks."""

import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from functools import cache
from pathlib import Path

from pytest_django.plugin import DjangoDbBlocker

from pupilage.storage.backup import copy_database
from pupilage.storage.database import database_at, migrate

FOLDER = Path(tempfile.mkdtemp(prefix="pupilage-tests-"))


@cache
def _migrated() -> Path:
    whole, copy = FOLDER / "made.sqlite3", FOLDER / "template.sqlite3"
    with database_at(whole):
        migrate()
    copy_database(whole, copy)
    return copy


@contextmanager
def file_database(file: Path, blocker: DjangoDbBlocker) -> Iterator[Path]:
    """Use a fresh, migrated database in this file until the end of the block."""
    with blocker.unblock():
        shutil.copyfile(_migrated(), file)
        with database_at(file):
            yield file
