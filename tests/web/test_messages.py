"""Translators get every string: those of templates, of the web, and the sentences made in `core`."""

import shutil
from io import StringIO
from pathlib import Path

import pytest
from django.core.management import call_command

import pupilage


@pytest.mark.skipif(shutil.which("xgettext") is None, reason="xgettext is not installed; apt-get install gettext")
def test_makemessages_collects_templates_web_and_core(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, settings: object
) -> None:
    package = tmp_path / "pupilage"
    shutil.copytree(Path(pupilage.__file__).parent, package, ignore=shutil.ignore_patterns("__pycache__"))
    settings.LOCALE_PATHS = [package / "web" / "locale"]
    settings.LOCALE_PATHS[0].mkdir(exist_ok=True)
    monkeypatch.chdir(package)
    call_command("makemessages", locale=["pt"], no_wrap=True, verbosity=0, stdout=StringIO())
    collected = (settings.LOCALE_PATHS[0] / "pt" / "LC_MESSAGES" / "django.po").read_text(encoding="utf-8")
    for text in (
        "Next outing",  # a template
        "Tick at least one behaviour; you can change it any day.",  # a form
        "The pup has woken: out within 5 minutes.",  # a sentence of core
        "You may read here, but not change anything; ask the keeper of this workspace.",  # an error of core
        "The household needs a name; your own will do.",  # a problem of a service
    ):
        assert f'msgid "{text}"' in collected, text
