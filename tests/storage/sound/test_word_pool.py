"""The shipped counter-examples load, are small, are the measured ones, and belong to the embedding that is used."""

import hashlib

import numpy as np

from pupilage.storage.sound.embedding import MODEL_SHA256
from pupilage.storage.sound.word_pool import FILE, word_pool, write_pool

SHA256 = "1d1162cea2e3dca6c7c46fd12dae267428c23942c8b905a96896a3ccef8f474b"


def test_the_shipped_file_is_the_measured_one_and_under_300_kb():
    assert hashlib.sha256(FILE.read_bytes()).hexdigest() == SHA256
    assert FILE.stat().st_size < 300_000


def test_it_was_heard_by_the_embedding_that_is_installed():
    with np.load(FILE, allow_pickle=False) as kept:
        assert str(kept["made_by"]) == MODEL_SHA256


def test_it_holds_runs_of_six_voices_and_one_can_be_left_out():
    runs = word_pool()
    assert len(runs) == 6
    assert all(run.shape[1] == 96 and len(run) > 200 and np.isfinite(run).all() for run in runs)
    assert len(word_pool(without="flite slt")) == 5


def test_one_byte_a_number_is_near_enough(tmp_path):
    rng = np.random.default_rng(1)
    runs = [("one", rng.standard_normal((200, 96)).astype(np.float32) * np.linspace(0.1, 20, 96, dtype=np.float32))]
    write_pool(tmp_path / "pool.npz", runs)
    with np.load(tmp_path / "pool.npz", allow_pickle=False) as kept:
        again = kept["middle"] + kept["scale"] * kept["rows"]
    assert np.median(np.abs(again - runs[0][1]) / runs[0][1].std(axis=0)) < 0.02
