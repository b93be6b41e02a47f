"""`pupilage bench plans`: how good and how fast the planner is."""

import json

import pytest

from pupilage.cli.commands import bench_plans


@pytest.fixture
def short(monkeypatch):
    monkeypatch.setattr(bench_plans, "SIZES", ((5, 3), (7, 4)))


def test_every_size_has_proof_gap_time_and_memory(run, short):
    done = run("bench", "plans", "--stays", "2", "--repeats", "1", "--json")
    assert done.exit_code == 0
    rows = json.loads(done.stdout)
    assert [(row["days"], row["goals"]) for row in rows] == [("5", "3"), ("7", "4")]
    assert all(row["proven best"].endswith("of 2") for row in rows)
    assert all(float(row["largest gap"].removesuffix(" %")) <= 1.0 for row in rows)
    assert all(row["memory"].endswith(" MB") for row in rows)
