"""The bytes of recordings: files of the data folder, added to at their end, gone for good when deleted."""

import hashlib
import os
import shutil
from collections.abc import Callable, Iterable
from pathlib import Path
from uuid import UUID

from pupilage.core.errors import Conflict, StorageTrouble
from pupilage.settings.environment import data_folder
from pupilage.storage.files import sync_folder

BLOCK_BYTES = 1 << 20
SPARE_BYTES = 200 << 20
"""What a recording leaves free on the disk, since the database must go on writing."""


def recording_file(recording_id: UUID) -> Path:
    """Return where the bytes of a recording stand. Its own name is never a path: only its id is."""
    return data_folder() / "recordings" / f"{recording_id}.sound"


def captions_file(recording_id: UUID) -> Path:
    """Return where the captions of a recording stand."""
    return recording_file(recording_id).with_suffix(".captions")


def require_room(n_bytes: int) -> None:
    """Refuse what the disk has no room for, before the first byte is written. Raises StorageTrouble."""
    folder = recordings_folder()
    free = shutil.disk_usage(folder).free
    if free < n_bytes + SPARE_BYTES:
        raise StorageTrouble(
            "The recording has {size} MB and the disk of {folder} has {free} MB free; "
            "free some space and bring it in again. Nothing was stored.",
            size=round(n_bytes / 1e6),
            free=round(free / 1e6),
            folder=str(folder),
        )


def append(file: Path, offset: int, blocks: Iterable[bytes]) -> int:
    """Write blocks behind the first `offset` bytes, on to the disk, and return how many bytes the file has now.

    What stood behind them is written over: it is of a piece that was sent and never acknowledged. Raises Conflict when
    the file is shorter than `offset`.
    """
    recordings_folder()
    with open(os.open(file, os.O_RDWR | os.O_CREAT, 0o600), "r+b") as out:
        if out.seek(0, os.SEEK_END) < offset:
            raise Conflict("Bytes of this recording are missing on the disk; bring it in again from its start.")
        out.seek(offset)
        for block in blocks:
            out.write(block)
        out.truncate()
        out.flush()
        os.fsync(out.fileno())
        return out.tell()


def copy_in(source: Path, target: Path, *, told: Callable[[int], None]) -> None:
    """Copy a file of this machine into the folder, telling how many bytes are there after each block."""
    recordings_folder()
    done = 0
    with source.open("rb") as read, open(os.open(target, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600), "wb") as out:
        while block := read.read(BLOCK_BYTES):
            out.write(block)
            done += len(block)
            told(done)
        out.flush()
        os.fsync(out.fileno())


def fingerprint(file: Path) -> str:
    """Return the SHA-256 of a file, read in blocks."""
    with file.open("rb") as read:
        return hashlib.file_digest(read, "sha256").hexdigest()


def delete_files(recording_id: UUID) -> None:
    """Delete what is kept of a recording's bytes: nothing is moved to a bin."""
    for file in (recording_file(recording_id), captions_file(recording_id)):
        file.unlink(missing_ok=True)
    sync_folder(recordings_folder())


def recordings_folder() -> Path:
    """Return the folder of recordings, made where it is missing, for its owner only."""
    folder = data_folder() / "recordings"
    folder.mkdir(parents=True, exist_ok=True, mode=0o700)
    return folder
