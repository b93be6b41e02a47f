"""Disks that are full or may not be written to: small file systems in memory, where this account may mount one."""

import os
import subprocess
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest


@contextmanager
def small_disk(folder: Path, *, kib: int, options: str = "") -> Iterator[Path]:
    """Mount a file system of this size in the folder; skip the test, saying so, where that is not allowed."""
    folder.mkdir()
    mounted = subprocess.run(
        ["mount", "-t", "tmpfs", "-o", f"size={kib}k{options}", "tmpfs", str(folder)],
        capture_output=True,
        text=True,
    )
    if mounted.returncode:
        pytest.skip(f"this account may not mount a small disk: {mounted.stderr.strip()}")
    try:
        yield folder
    finally:
        subprocess.run(["umount", str(folder)], check=True)


@contextmanager
def read_only(folder: Path) -> Iterator[Path]:
    """Make a folder one that nobody may write to, not even the superuser; skip where that is not allowed."""
    for command in (["mount", "--bind"], ["mount", "-o", "remount,bind,ro"]):
        mounted = subprocess.run([*command, str(folder), str(folder)], capture_output=True, text=True)
        if mounted.returncode:
            pytest.skip(f"this account may not make a folder read-only: {mounted.stderr.strip()}")
    try:
        yield folder
    finally:
        subprocess.run(["umount", str(folder)], check=True)


def is_root() -> bool:
    return os.name != "nt" and os.geteuid() == 0
