"""Collects strings for translators, those of `core` included."""

from django.core.management.commands import makemessages


class Command(makemessages.Command):
    """Django's command, which also knows `sentence(...)` and the errors of `core`."""

    xgettext_options = [
        *makemessages.Command.xgettext_options,
        *(
            f"--keyword={name}"
            for name in (
                "sentence:1",
                "of:2",
                "Problem:2",
                "Conflict:1",
                "Forbidden:1",
                "NotFound:1",
                "StorageTrouble:1",
            )
        ),
    ]
