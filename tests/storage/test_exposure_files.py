"""A trainer's own things to meet: in use when they are right, set aside with every fault told when they are not."""

import os

import pytest

from pupilage.settings.environment import data_folder
from pupilage.storage.exposure_files import read_exposure_files


@pytest.fixture
def folder():
    folder = data_folder() / "exposures"
    folder.mkdir(parents=True)
    return folder


def test_without_files_the_list_is_ours():
    reading = read_exposure_files()
    assert (len(reading.catalogue.items), reading.problems) == (60, ())


def test_own_file_changes_the_list_and_is_read_again_when_it_changes(folder):
    file = folder / "mine.toml"
    file.write_text('[[exposure]]\nkey = "grass"\nweight = 1\n', encoding="utf-8")
    assert read_exposure_files().catalogue.items["grass"].weight == 1
    file.write_text('[[exposure]]\nkey = "grass"\nweight = 2\n', encoding="utf-8")
    os.utime(file, ns=(1, file.stat().st_mtime_ns + 1_000_000))
    assert read_exposure_files().catalogue.items["grass"].weight == 2


def test_faulty_file_leaves_our_list_in_use_and_tells_every_fault(folder):
    (folder / "mine.toml").write_text('[[exposure]]\nkey = "sheep"\ntarget = 0\n', encoding="utf-8")
    reading = read_exposure_files()
    assert "sheep" not in reading.catalogue.items
    told = [str(problem) for problem in reading.problems]
    assert any("mine.toml: sheep.target" in line for line in told)
    assert any("The field name is missing" in line for line in told)


def test_file_that_is_no_text_is_told(folder):
    (folder / "mine.toml").write_bytes(b"\xff\xfe\x00")
    assert "not UTF-8" in str(read_exposure_files().problems[0])
