"""The pack's catalogues against GNU gettext: what msgfmt makes of a file is what our reader reads."""

import gettext
import shutil
import subprocess
from importlib.resources import files

import pytest

from pupilage.reports.pack.tongue import read_po

PO = files("pupilage.reports.pack") / "locale" / "de.po"


@pytest.mark.skipif(shutil.which("msgfmt") is None, reason="GNU gettext is not on this machine")
def test_msgfmt_reads_the_same_messages(tmp_path):
    source, made = tmp_path / "de.po", tmp_path / "de.mo"
    source.write_text(PO.read_text(encoding="utf-8"), encoding="utf-8")
    subprocess.run(["msgfmt", "--check-format", "-o", str(made), str(source)], check=True, capture_output=True)
    with made.open("rb") as file:
        theirs = gettext.GNUTranslations(file)._catalog
    assert {key: text for key, text in theirs.items() if key} == dict(read_po(PO.read_text(encoding="utf-8")))


def test_lines_that_go_on_and_escapes_are_read():
    head = 'msgid ""\nmsgstr "head"\n\n'
    text = head + '#: here\nmsgid ""\n"a \\"b\\"\\n"\n"c"\nmsgstr "x"\n"y"\n\nmsgid "empty"\nmsgstr ""\n'
    assert dict(read_po(text)) == {'a "b"\nc': "xy"}
