"""A database in a file for the tests of storage."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from pytest_django.plugin import DjangoDbBlocker

from file_databases import file_database


@pytest.fixture
def database(tmp_path: Path, django_db_blocker: DjangoDbBlocker) -> Iterator[Path]:
    """A fresh, migrated SQLite file that is in use."""
    with file_database(tmp_path / "pupilage.sqlite3", django_db_blocker) as file:
        yield file
