"""The benches that stand beside other programs: what they say where those are missing, and what they measure."""

import json

import pytest

from pupilage.cli import checks_environment
from pupilage.cli.commands import bench_pooling, bench_sampler
from pupilage.cli.commands.bench_records import simulated_dog
from pupilage.core.catalogue.loading import load_bundled
from pupilage.core.errors import InvalidInput


@pytest.fixture
def no_environment(monkeypatch, tmp_path):
    monkeypatch.setattr(checks_environment, "SOURCE", tmp_path / "src")


@pytest.mark.usefixtures("no_environment")
def test_missing_environment_is_said_with_what_makes_it():
    with pytest.raises(InvalidInput, match="scripts/set_up_checks makes it"):
        bench_sampler.sample([[0, 0.0, 0.0, 5, 4]])


@pytest.mark.usefixtures("no_environment")
def test_pooling_without_the_environment_leaves_parquet_unmeasured():
    ((what, measured, _, why),) = bench_pooling._from_parquet()
    assert (what, measured) == ("the same from Parquet", "not measured")
    assert "scripts/set_up_checks" in why


def test_program_that_fails_is_an_error_with_its_own_words(monkeypatch, tmp_path):
    import sys
    from pathlib import Path

    program = tmp_path / "broken.py"
    program.write_text("raise SystemExit('no such thing here')")
    monkeypatch.setattr(checks_environment, "find_python", lambda: Path(sys.executable))
    with pytest.raises(InvalidInput, match="broken failed: no such thing here"):
        checks_environment.ask(program)
    program.write_text("import json, sys; print(json.dumps(sys.argv[1:]))")
    assert checks_environment.ask(program, "a", "b") == ["a", "b"]


def test_simulated_dogs_are_the_same_for_a_seed():
    import numpy as np

    behaviours = {key: load_bundled().behaviours[key] for key in ("sit", "down")}
    one, other = (simulated_dog(behaviours, 0.05, np.random.default_rng(3), n_days=2) for _ in range(2))
    assert one == other
    assert len(one) == 2 * 2 * 2 * 5


def test_pooling_of_a_few_dogs_prints_every_row(monkeypatch, capsys):
    from pupilage.cli.beside import parquet_counts

    for name, value in (("N_DOGS", 200), ("N_TRIALS", 100), ("N_BEHAVIOURS", 3), ("KENNELS", (("of one kind", 0.05),))):
        monkeypatch.setattr(bench_pooling, name, value)
    monkeypatch.setattr(bench_pooling, "N_LEFT_OUT", (3,))
    monkeypatch.setattr(bench_pooling, "_from_parquet", lambda: iter(()))
    monkeypatch.setattr(parquet_counts, "N_TRIALS", 100)
    bench_pooling.pooling.callback(as_json=True)
    rows = json.loads(capsys.readouterr().out)
    assert [row["goal"] for row in rows] == ["above 0", "under 2 s", "under 60 s, 4 GB", "–"]
