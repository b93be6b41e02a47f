"""Every kind of error has its exit code and its sentence; nobody sees a traceback for what they did."""

import errno
import sqlite3

import click
import pytest
from click.testing import CliRunner

from pupilage.cli.failing import EXIT_CODES, Commands
from pupilage.core import errors
from pupilage.core.errors import InvalidInput, Problem, PupilageError
from pupilage.storage.troubles import explain


def ending_with(error: Exception):
    group = Commands("group")

    @group.command()
    def fail() -> None:
        raise error

    return CliRunner().invoke(group, ["fail"])


def test_every_kind_of_error_has_its_own_exit_code():
    kinds = {kind.code for kind in vars(errors).values() if isinstance(kind, type) and issubclass(kind, PupilageError)}
    assert set(EXIT_CODES) == kinds
    assert len(set(EXIT_CODES.values())) == len(EXIT_CODES)


@pytest.mark.parametrize("kind", [errors.NotFound, errors.Forbidden, errors.Conflict, errors.StorageTrouble])
def test_a_refusal_is_a_sentence_and_its_code(kind):
    done = ending_with(kind("There is no {thing}.", thing="pup"))
    assert done.exit_code == EXIT_CODES[kind.code]
    assert done.output == "There is no pup.\n"


def test_all_problems_of_an_input_are_said():
    done = ending_with(InvalidInput([Problem("a", "No."), Problem("b", "Nor this.")]))
    assert (done.exit_code, done.output) == (2, "a: No.\nb: Nor this.\n")


def test_what_the_disk_refuses_is_a_storage_trouble():
    done = ending_with(OSError(errno.ENOSPC, "No space left on device", "/x/a.json"))
    assert done.exit_code == 6
    assert done.output.startswith("The disk is full, so nothing was written to /x/a.json")


def test_a_fault_of_ours_is_not_hidden():
    assert isinstance(ending_with(ZeroDivisionError()).exception, ZeroDivisionError)


def test_a_wrong_setting_is_said():
    from django.core.exceptions import ImproperlyConfigured

    done = ending_with(ImproperlyConfigured("PUPILAGE_X is “maybe”; give yes or no."))
    assert (done.exit_code, done.output) == (2, "PUPILAGE_X is “maybe”; give yes or no.\n")


def test_click_keeps_its_own_ways():
    assert ending_with(click.UsageError("no")).exit_code == 2
    assert ending_with(click.exceptions.Exit(9)).exit_code == 9


def _sqlite_error(name: str) -> sqlite3.Error:
    error = sqlite3.OperationalError("x")
    error.sqlite_errorname = name
    return error


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("SQLITE_FULL", "disk is full"),
        ("SQLITE_READONLY_DIRECTORY", "may not be written to"),
        ("SQLITE_CANTOPEN", "cannot be opened"),
        ("SQLITE_NOTADB", "damaged or half-written"),
        ("SQLITE_CORRUPT", "damaged or half-written"),
        ("SQLITE_BUSY", "busy for too long"),
        ("SQLITE_IOERR_WRITE", "disk failed"),
    ],
)
def test_sqlite_troubles_are_said_through_djangos_wrapping(name, words):
    from django.db import OperationalError

    wrapped = OperationalError("x")
    wrapped.__cause__ = _sqlite_error(name)
    trouble = explain(wrapped, "/data/pupilage.sqlite3")
    assert trouble is not None
    assert words in str(trouble)
    assert "/data/pupilage.sqlite3" in str(trouble)


def test_other_errors_are_not_explained_away():
    assert explain(ValueError("x")) is None
    assert explain(_sqlite_error("SQLITE_ERROR")) is None


def test_a_database_server_that_does_not_answer_is_said():
    psycopg = pytest.importorskip("psycopg")
    from django.db import OperationalError

    wrapped = OperationalError("x")
    wrapped.__cause__ = psycopg.OperationalError("connection refused\nIs the server running?")
    trouble = explain(wrapped)
    assert trouble is not None
    assert "does not answer (connection refused)" in str(trouble)
