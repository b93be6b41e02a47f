"""From a command's options to a database that is open and a person who acts."""

import os
from dataclasses import dataclass

from pupilage.core.access import Actor
from pupilage.core.errors import InvalidInput
from pupilage.settings.environment import data_folder

SETTINGS = ("local", "team")
DEMO_FILE = "demo.sqlite3"


@dataclass(frozen=True)
class Choice:
    """What the options before the command say: the demo's database or the usual one, and which workspace."""

    demo: bool = False
    workspace: str = ""


def start_django(*, demo: bool = False) -> None:
    """Read the settings and load the records' half of the program: only what needs it waits for that."""
    if demo:
        os.environ.pop("DATABASE_URL", None)
        os.environ["PUPILAGE_DATABASE"] = str(data_folder() / DEMO_FILE)
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", f"pupilage.settings.{_settings_name()}")
    import django

    django.setup()


def _settings_name() -> str:
    name = os.environ.get("PUPILAGE_SETTINGS", "local")
    if name not in SETTINGS:
        raise InvalidInput.of(
            "PUPILAGE_SETTINGS", "“{name}” is unknown; give {known}.", name=name, known=" or ".join(SETTINGS)
        )
    return name


def act(choice: Choice) -> Actor:
    """Open the database and return the person whom the command line acts as."""
    start_django(demo=choice.demo)
    from pupilage.services.get_keeper import get_keeper
    from pupilage.storage.database import open_database

    open_database()
    return get_keeper(choice.workspace)
