"""The system's time zone, by its name."""

import pytest

from pupilage.cli import clock


@pytest.fixture(autouse=True)
def bare_system(monkeypatch, tmp_path):
    monkeypatch.setattr(clock, "TZ_GIVEN", "")
    monkeypatch.setattr(clock, "ZONE_NAME_FILE", tmp_path / "timezone")
    monkeypatch.setattr(clock, "LOCALTIME", tmp_path / "localtime")
    return tmp_path


@pytest.mark.parametrize("given", ["Europe/Lisbon", ":Europe/Lisbon"])
def test_tz_comes_first(monkeypatch, given):
    monkeypatch.setattr(clock, "TZ_GIVEN", given)
    assert clock.guess_timezone() == "Europe/Lisbon"


def test_the_link_of_localtime_tells(bare_system):
    zone = bare_system / "zoneinfo" / "Europe" / "Lisbon"
    zone.parent.mkdir(parents=True)
    zone.touch()
    (bare_system / "localtime").symlink_to(zone)
    assert clock.guess_timezone() == "Europe/Lisbon"


def test_the_name_file_tells(bare_system):
    (bare_system / "timezone").write_text("Asia/Kolkata\n", encoding="ascii")
    assert clock.guess_timezone() == "Asia/Kolkata"


def test_nonsense_is_passed_over(monkeypatch, bare_system):
    monkeypatch.setattr(clock, "TZ_GIVEN", "<+03>-3")
    (bare_system / "timezone").write_text("Nowhere/Town", encoding="ascii")
    assert clock.guess_timezone() == "UTC"
