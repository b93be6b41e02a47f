"""The shipped counter-examples load, are small, are the measured ones, and belong to the embedding that is used."""

import hashlib

import numpy as np

from pupilage.storage.sound import word_pool as word_pool_file
from pupilage.storage.sound.embedding import MODEL_SHA256
from pupilage.storage.sound.word_pool import FILE, word_pool, write_pool

SHA256 = "9d0b5f50e7ac062c9d552640adf4c2f2dc49024aaf502b95c1c483badef8bc63"


def test_the_shipped_file_is_the_measured_one_and_under_300_kb():
    assert hashlib.sha256(FILE.read_bytes()).hexdigest() == SHA256
    assert FILE.stat().st_size < 300_000


def test_it_was_heard_by_the_embedding_that_is_installed():
    with np.load(FILE, allow_pickle=False) as kept:
        assert str(kept["made_by"]) == MODEL_SHA256


def test_it_holds_runs_of_six_voices_and_babble_and_one_voice_can_be_left_out():
    runs = word_pool()
    assert len(runs) == 6 + 12
    assert all(run.shape[1] == 96 and len(run) > 200 and np.isfinite(run).all() for run in runs)
    assert len(word_pool(without="flite slt")) == len(runs) - 1


def test_half_a_byte_a_number_is_near_enough(tmp_path, monkeypatch):
    rng = np.random.default_rng(1)
    rows = rng.standard_normal((200, 96)).astype(np.float32) * np.linspace(0.1, 20, 96, dtype=np.float32)
    monkeypatch.setattr(word_pool_file, "FILE", tmp_path / "pool.npz")
    write_pool(word_pool_file.FILE, [("one", rows[:150]), ("two", rows[150:])])
    one, two = word_pool.__wrapped__()
    away = np.abs(np.concatenate([one, two]) - rows) / rows.std(axis=0)
    assert np.median(away) < 0.12
    assert (len(one), len(two)) == (150, 50)
