"""What `pupilage doctor` finds."""

from datetime import UTC, datetime, timedelta

import pytest
from django.db import connection

from file_databases import file_database
from pupilage.services import check_installation as module
from pupilage.services.check_installation import EXPECTED_SETTINGS, Check, Result, check_installation
from pupilage.services.open_workspace import NewWorkspace, open_workspace
from pupilage.settings.environment import data_folder
from pupilage.storage.database import database_at
from pupilage.storage.models import CareEvent, Dog, Household
from small_disks import read_only


@pytest.fixture
def database(tmp_path, django_db_blocker):
    with file_database(tmp_path / "pupilage.sqlite3", django_db_blocker) as file:
        yield file


def found(checks: list[Check], name: str) -> Check:
    return next(check for check in checks if check.name == name)


def test_a_sound_installation_is_fine_throughout(database, now):
    checks = check_installation(now=now)
    assert {check.result for check in checks} == {Result.FINE}
    assert {check.name for check in checks} >= {"folder", "space", "database", "migrations", "settings", "clock"}


def test_the_settings_are_compared_one_by_one(database, now, monkeypatch):
    with connection.cursor() as cursor:
        cursor.execute("PRAGMA synchronous=OFF")
    check = found(check_installation(now=now), "settings")
    assert check.result is Result.REPAIR
    assert "synchronous is 0, not 2" in str(check.finding)
    assert EXPECTED_SETTINGS["synchronous"] == 2


def test_a_database_that_is_not_there_yet_is_no_fault(database, tmp_path, now):
    with database_at(tmp_path / "none.sqlite3"):
        checks = check_installation(now=now)
    assert found(checks, "database").result is Result.LOOK
    assert not (tmp_path / "none.sqlite3").exists()


def test_a_half_written_database_is_found_and_the_rest_is_still_checked(database, tmp_path, now):
    half = tmp_path / "half.sqlite3"
    half.write_bytes(database.read_bytes()[: database.stat().st_size // 2])
    with database_at(half):
        checks = check_installation(now=now)
    assert "damaged or half-written" in str(found(checks, "database").finding)
    assert found(checks, "catalogue").result is Result.FINE


def test_missing_migrations_are_found(database, tmp_path, now):
    (tmp_path / "empty.sqlite3").touch()
    with database_at(tmp_path / "empty.sqlite3"):
        assert found(check_installation(now=now), "migrations").result is Result.REPAIR


def test_a_file_in_the_place_of_the_folder_is_found(database, tmp_path, now, monkeypatch):
    (tmp_path / "file").touch()
    monkeypatch.setenv("PUPILAGE_DATA", str(tmp_path / "file"))
    check = found(check_installation(now=now), "folder")
    assert check.result is Result.REPAIR
    assert "a file stands where a folder is needed" in str(check.finding)


def test_a_read_only_folder_is_found(database, now):
    with read_only(data_folder()):
        check = found(check_installation(now=now), "folder")
    assert check.result is Result.REPAIR
    assert "may not be written to" in str(check.finding)


def test_little_space_is_worth_a_look(database, now, monkeypatch):
    monkeypatch.setattr(module, "MIN_FREE_BYTES", 2**62)
    assert found(check_installation(now=now), "space").result is Result.LOOK


@pytest.mark.parametrize("year", [1970, 2024, 2101])
def test_a_clock_that_cannot_be_right_is_found(database, year):
    check = found(check_installation(now=datetime(year, 1, 1, tzinfo=UTC)), "clock")
    assert check.result is Result.REPAIR


def test_an_entry_in_the_future_tells_of_a_wrong_clock(database, now):
    actor = open_workspace(NewWorkspace("yard", "wren", "Wren", "Europe/Lisbon"), now=now)
    assert "Europe/Lisbon" in str(found(check_installation(now=now), "time zone").finding)
    household = Household.objects.create(workspace_id=actor.workspace_id, name="home")
    dog = Dog.objects.create(workspace_id=actor.workspace_id, household=household, name="Moss", born_on=now.date())
    CareEvent.objects.create(
        workspace_id=actor.workspace_id,
        event_id="00000000-0000-4000-8000-000000000001",
        dog=dog,
        kind="drink",
        at=now + timedelta(days=2),
        received_at=now,
    )
    assert found(check_installation(now=now), "entries").result is Result.LOOK


def test_a_broken_catalogue_file_of_the_trainer_is_named(database, now):
    folder = data_folder() / "catalogue"
    folder.mkdir()
    (folder / "mine.toml").write_text("behaviour = [", encoding="utf-8")
    check = found(check_installation(now=now), "catalogue")
    assert check.result is Result.REPAIR
    assert "mine.toml" in str(check.finding)


def test_a_broken_file_of_things_to_meet_is_named(database, now):
    folder = data_folder() / "exposures"
    folder.mkdir(parents=True)
    (folder / "mine.toml").write_text('[[exposure]]\nkey = "sheep"\n', encoding="utf-8")
    check = found(check_installation(now=now), "exposures")
    assert check.result is Result.REPAIR
    assert "mine.toml" in str(check.finding)
