"""Collecting the pages' static files into the data folder, when they have changed."""

import hashlib
from pathlib import Path

from pupilage import __version__

STAMP = ".collected"


def collect_static_files() -> bool:
    """Bring the collected files up to date; return whether there was anything to do."""
    from django.conf import settings
    from django.core.management import call_command

    stamp_file = Path(settings.STATIC_ROOT) / STAMP
    stamp = _stamp()
    if stamp_file.is_file() and stamp_file.read_text(encoding="ascii") == stamp:
        return False
    stamp_file.parent.mkdir(parents=True, exist_ok=True)
    call_command("collectstatic", interactive=False, verbosity=0)
    stamp_file.write_text(stamp, encoding="ascii")
    return True


def _stamp() -> str:
    """Return a word that changes with the version and with every file's name, size or time."""
    from django.contrib.staticfiles.finders import get_finders

    found = hashlib.sha256(__version__.encode())
    for finder in get_finders():
        for path, storage in sorted(finder.list([]), key=lambda one: one[0]):
            facts = Path(storage.path(path)).stat()
            found.update(f"{path}\0{facts.st_size}\0{facts.st_mtime_ns}\0".encode())
    return found.hexdigest()
