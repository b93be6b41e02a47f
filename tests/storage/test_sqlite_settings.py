"""The SQLite settings of ARCHITECTURE.md, read back from an open connection to a file."""

import re
from pathlib import Path

from django.db import connection, transaction
from django.test.utils import CaptureQueriesContext

from pupilage.settings.environment import SQLITE_WAIT_S
from pupilage.storage.database import read_settings


def test_writes_go_to_a_write_ahead_log(database: Path) -> None:
    assert read_settings()["journal_mode"] == "wal"


def test_a_commit_waits_until_the_disk_has_it(database: Path) -> None:
    """2 is FULL. Source: the SQLite documentation, PRAGMA synchronous."""
    assert read_settings()["synchronous"] == 2


def test_a_writer_waits_for_another_instead_of_failing(database: Path) -> None:
    assert read_settings()["busy_timeout"] == SQLITE_WAIT_S * 1000


def test_a_transaction_takes_the_write_lock_when_it_begins(database: Path) -> None:
    with CaptureQueriesContext(connection) as queries, transaction.atomic():
        pass
    assert queries[0]["sql"] == "BEGIN IMMEDIATE"
    assert read_settings()["transaction_mode"] == "IMMEDIATE"


def test_a_request_is_no_transaction_of_itself(database: Path) -> None:
    assert read_settings()["atomic_requests"] is False


def test_a_connection_stays_open(database: Path) -> None:
    assert connection.settings_dict["CONN_MAX_AGE"] is None


def test_foreign_keys_are_enforced(database: Path) -> None:
    with connection.cursor() as cursor:
        assert cursor.execute("PRAGMA foreign_keys").fetchone()[0] == 1


def test_the_migrations_hold_every_field_of_the_models(database: Path) -> None:
    from io import StringIO

    from django.core.management import call_command

    told = StringIO()
    call_command("makemigrations", check=True, dry_run=True, stdout=told)  # it exits where a field is missing
    assert told.getvalue().strip() == "No changes detected"


def test_a_custom_user_a_workspace_and_the_device_stand_in_the_first_migration() -> None:
    text = (Path(__file__).parents[2] / "src/pupilage/storage/migrations/0001_first.py").read_text(encoding="utf-8")
    made = set(re.findall(r'CreateModel\(\s*name="(\w+)"', text))
    assert {"User", "Workspace", "Device"} <= made
