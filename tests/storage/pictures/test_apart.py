"""A picture made anew in another process: the same as here, and a child that dies or hangs is a refusal in words."""

import subprocess
import sys

import pytest

from made_pictures import made_clip, made_png
from pupilage.core.errors import InvalidInput
from pupilage.core.handover.family_parts import MediaKind
from pupilage.storage.pictures import apart
from pupilage.storage.pictures.apart import remake_apart
from pupilage.storage.pictures.remaking import remake_picture


def test_picture_is_the_same_as_made_here():
    made = made_png(320, 240)
    assert remake_apart(made, MediaKind.PICTURE) == remake_picture(made)


def test_clip_with_sound_comes_back():
    found = remake_apart(made_clip(0.5), MediaKind.CLIP, with_sound=True)
    assert (found.width, found.height) == (320, 240)
    assert b"mp4a" in found.body
    assert b"mp4a" not in remake_apart(made_clip(0.5), MediaKind.CLIP).body


def test_refusal_comes_back_in_its_own_words():
    with pytest.raises(InvalidInput, match="This is no picture that can be shown"):
        remake_apart(b"<svg/>", MediaKind.PICTURE)


def test_child_that_dies_is_a_refusal(monkeypatch):
    real = subprocess.run

    def killed(_command, **given):
        return real([sys.executable, "-c", "import os, signal; os.kill(os.getpid(), signal.SIGFPE)"], **given)

    monkeypatch.setattr(apart.subprocess, "run", killed)
    with pytest.raises(InvalidInput, match="cannot be opened"):
        remake_apart(made_png(64, 48), MediaKind.PICTURE)


def test_child_that_hangs_is_a_refusal(monkeypatch):
    monkeypatch.setitem(apart.LONGEST_S, MediaKind.PICTURE, 0.01)
    with pytest.raises(InvalidInput, match="took too long"):
        remake_apart(made_png(64, 48), MediaKind.PICTURE)
