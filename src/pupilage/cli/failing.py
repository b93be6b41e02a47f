"""The one place where a refusal becomes a sentence on the error stream and an exit code."""

import os
import sys
from typing import Any

import click

from pupilage.core.errors import InvalidInput, PupilageError
from pupilage.storage.troubles import explain

EXIT_CODES = {
    "error": 1,
    "invalid": 2,
    "not-found": 3,
    "forbidden": 4,
    "conflict": 5,
    "storage": 6,
    "not-enough": 7,
}


class Commands(click.Group):
    """A group of commands that ends a refusal without a traceback."""

    def invoke(self, ctx: click.Context) -> Any:
        try:
            return super().invoke(ctx)
        except (click.ClickException, click.exceptions.Exit, click.Abort, BrokenPipeError):
            raise
        except Exception as error:
            refusal = as_refusal(error)
            if refusal is None:
                raise
            click.echo(say(refusal), err=True)
            ctx.exit(EXIT_CODES[refusal.code])


def as_refusal(error: Exception) -> PupilageError | None:
    """Return what an error means for the person at the keyboard, or None when it is a fault of ours."""
    if isinstance(error, PupilageError):
        return error
    if type(error).__name__ == "ImproperlyConfigured":  # Django is not imported for its name's sake
        return InvalidInput.of("", "{problem}", problem=str(error))
    return explain(error, _database_name())


def say(refusal: PupilageError) -> str:
    """Return a refusal in words, a line for each problem."""
    return str(refusal.sentence)


def _database_name() -> str:
    if "django.db" not in sys.modules:
        return ""
    from pupilage.settings.environment import database_file

    return "the database" if os.environ.get("DATABASE_URL") else str(database_file())
