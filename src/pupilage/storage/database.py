"""Opening the database: is it there, is it whole, does it know all migrations."""

import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from typing import Any

from django.core.management import call_command
from django.db import connections
from django.db.migrations.executor import MigrationExecutor
from django.db.migrations.loader import MigrationLoader
from django.db.utils import load_backend

from pupilage.core.errors import Conflict, StorageTrouble
from pupilage.settings.environment import sqlite_settings
from pupilage.storage.troubles import Damaged, explain


def find_database_file() -> Path | None:
    """Return the SQLite file in use; None for PostgreSQL and for a database in memory."""
    wrapper = connections["default"]
    if wrapper.vendor != "sqlite" or wrapper.is_in_memory_db():
        return None
    return Path(wrapper.settings_dict["NAME"])


def require_sqlite_file(other_way: str) -> Path:
    """Return the SQLite file. Raises Conflict when the records are elsewhere; `other_way` says what to do then."""
    file = find_database_file()
    if file is None:
        raise Conflict("This installation keeps its records in PostgreSQL; use {other_way} there.", other_way=other_way)
    return file


def prepare_database() -> list[str]:
    """Make the database ready for use and return the migrations that were applied.

    A database that is not whole, or that a newer Pupilage has written, is left as it is.
    Raises StorageTrouble or Conflict.
    """
    file = find_database_file()
    if file is not None:
        file.parent.mkdir(parents=True, exist_ok=True)
        if file.exists():
            require_whole(file)
    return migrate()


def open_database() -> None:
    """Make sure that the database is there, whole enough to open, and up to date; changes nothing.

    Raises StorageTrouble or Conflict with what to do.
    """
    file = find_database_file()
    if file is not None and not file.exists():
        raise StorageTrouble(
            "There is no database at {file} yet; `pupilage serve` makes one, `pupilage --demo` reads the demo's.",
            file=str(file),
        )
    missing = missing_migrations()
    if missing:
        raise Conflict(
            "The database was written by an older Pupilage ({n} changes behind); run `pupilage serve` once.",
            n=len(missing),
        )


def close_database() -> None:
    """Let go of the database's file, so that it can be moved."""
    connections["default"].close()


def migrate() -> list[str]:
    """Apply the migrations that are missing, and return their names."""
    missing = missing_migrations()
    if missing:
        call_command("migrate", interactive=False, verbosity=0)
    return missing


def missing_migrations() -> list[str]:
    """Return the names of the migrations that the database does not have yet.

    Raises Conflict when it has one that this version does not know.
    """
    executor = MigrationExecutor(connections["default"])
    require_known(set(executor.loader.applied_migrations))
    plan = executor.migration_plan(executor.loader.graph.leaf_nodes())
    return [f"{migration.app_label}.{migration.name}" for migration, _ in plan]


def newest_migration() -> str:
    """Return the name of the newest migration of `storage`, which names the shape of the tables."""
    loader = MigrationLoader(None, ignore_no_migrations=True)
    return max(name for app, name in loader.disk_migrations if app == "storage")


def require_known(applied: set[tuple[str, str]]) -> None:
    """Refuse a database with migrations of `storage` that this version does not have. Raises Conflict."""
    loader = MigrationLoader(None, ignore_no_migrations=True)
    ours = {name for app, name in loader.disk_migrations if app == "storage"}
    unknown = sorted({name for app, name in applied if app == "storage"} - ours)
    if unknown:
        raise Conflict(
            "The database was written by a newer Pupilage ({unknown}); install that version or a later one.",
            unknown=", ".join(unknown),
        )


def require_whole(file: Path, check: str = "quick_check") -> None:
    """Refuse a file that is no SQLite database, or a damaged one. Reads it all; changes nothing.

    Raises StorageTrouble.
    """
    try:
        with closing(sqlite3.connect(file.resolve().as_uri() + "?mode=ro", uri=True)) as connection:
            found = [row[0] for row in connection.execute(f"PRAGMA {check}")]
    except sqlite3.Error as error:
        raise explain(error, file) or Damaged.at(file) from error
    if found != ["ok"]:
        raise Damaged.at(file)


def read_settings() -> dict[str, Any]:
    """Return the SQLite settings as the open connection has them."""
    wrapper = connections["default"]
    with wrapper.cursor() as cursor:
        read = {name: _pragma(cursor, name) for name in ("journal_mode", "synchronous", "busy_timeout")}
    return read | {
        "transaction_mode": wrapper.transaction_mode,
        "atomic_requests": wrapper.settings_dict["ATOMIC_REQUESTS"],
    }


def _pragma(cursor: Any, name: str) -> Any:
    return cursor.execute(f"PRAGMA {name}").fetchone()[0]


@contextmanager
def database_at(file: Path) -> Iterator[None]:
    """Use another SQLite file, with the usual settings, until the end of the block."""
    usual = connections["default"]
    backend = load_backend("django.db.backends.sqlite3")
    other = backend.DatabaseWrapper({**usual.settings_dict, **sqlite_settings(file)}, "default")
    connections["default"] = other
    try:
        yield
    finally:
        other.close()
        connections["default"] = usual
