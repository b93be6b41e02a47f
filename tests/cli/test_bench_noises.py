"""The measures of noises run, small, with one row for each background; real stand-ins only where they are installed."""

import math
import os
from functools import partial

import pytest

from pupilage.cli.commands import bench_noises
from pupilage.cli.commands.bench_dogs import HOMES, measure_barks, measure_home_alone, measure_long_home
from pupilage.cli.commands.bench_noises import (
    CONDITIONS,
    KEYS_FOLDER,
    measure_clicks,
    measure_keys,
    measure_whistles,
)

SHORT = CONDITIONS[:2]


@pytest.mark.parametrize("measure", [partial(measure_clicks, n_clickers=1), partial(measure_whistles, n_whistles=1)])
def test_each_background_gives_a_row_with_a_share_in_it(measure):
    rows = measure(session_s=12.0, conditions=SHORT)
    assert [row.condition for row in rows] == ["quiet", "pink 20 dB"]
    assert all(0.0 <= row.f1 <= 1.0 and row.n_true > 0 for row in rows)


def test_barks_by_bursts_alone_give_two_rows_a_home_and_none_for_a_voice_that_is_not_there(monkeypatch, tmp_path):
    monkeypatch.setattr(bench_noises, "TALK_FOLDER", tmp_path)
    rows = measure_barks(None, adapted=True, n_dogs=1, home_s=40.0, homes=[HOMES[0], HOMES[3]])
    assert [row.condition for row in rows] == ["quiet", "quiet"]
    assert all(0.0 <= row.f1 <= 1.0 and not math.isnan(row.precision) for row in rows)


def test_a_long_home_is_measured():
    measured = measure_long_home(None, hours=1 / 60)
    assert measured["wall_s"] > 0
    assert measured["n_events"] > 0


def test_real_keys_are_mostly_found_in_a_quiet_room():
    if not KEYS_FOLDER.is_dir():
        assert os.environ.get("PUPILAGE_CHECKS") != "required", "bucklespring-data is missing: scripts/install_sounds"
        pytest.skip("Debian's package bucklespring-data is not installed: scripts/install_sounds")
    (quiet,) = measure_keys(session_s=26.0, conditions=CONDITIONS[:1])
    assert quiet.recall >= 0.75


def test_without_the_package_there_are_no_rows_of_real_keys(monkeypatch, tmp_path):
    monkeypatch.setattr(bench_noises, "KEYS_FOLDER", tmp_path)
    bench_noises.real_keys.cache_clear()
    assert measure_keys() == []
    bench_noises.real_keys.cache_clear()


def test_bouts_of_a_home_are_counted():
    (row,) = measure_home_alone(None, n_dogs=1, home_s=60.0, homes=HOMES[:1])
    assert row["homes"] == 1
    assert 0 <= row["found"] <= row["true"]
    assert 0 <= row["right"] <= row["shown"]
