"""Deleting so that nothing is left in the file: SQLite keeps old pages otherwise."""

from django.db import connection


def overwrite_deleted() -> None:
    """Have SQLite write zeros over deleted rows; otherwise their bytes stay in the file until it is reused."""
    if connection.vendor == "sqlite":
        with connection.cursor() as cursor:
            cursor.execute("PRAGMA secure_delete = ON")


def empty_log() -> None:
    """Have SQLite's write-ahead log, which still holds the pages from before, start anew."""
    if connection.vendor == "sqlite" and not connection.in_atomic_block:
        with connection.cursor() as cursor:
            cursor.execute("PRAGMA wal_checkpoint(TRUNCATE)")
