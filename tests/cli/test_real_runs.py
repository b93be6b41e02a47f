"""Real processes with a data folder of their own: the demo, the server, and what goes wrong with them."""

import json
import os
import signal
import socket
import sqlite3
import urllib.request
from contextlib import closing
from pathlib import Path

import pytest

from small_disks import read_only, small_disk

pytestmark = pytest.mark.processes


def free_port() -> int:
    with closing(socket.socket()) as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]


def opened(link: str):
    """Open a link as a browser does, cookies kept."""
    return urllib.request.build_opener(urllib.request.HTTPCookieProcessor()).open(link, timeout=20)


def test_the_demo_is_made_once_a_day_and_an_older_one_is_kept(machine):
    made = machine.run("demo", "--no-serve")
    assert made.returncode == 0, made.stderr
    file = machine.folder / "demo.sqlite3"
    first = file.stat().st_ino
    assert machine.run("demo", "--no-serve").returncode == 0
    assert file.stat().st_ino == first, "today's demo is kept"

    shown = json.loads(machine.run("--demo", "programme", "show", "--json").stdout)
    assert shown["programme"]["day_number"] == 11
    assert "no database" in machine.run("programme", "show").stderr, "the demo is apart from one's own records"

    with closing(sqlite3.connect(file)) as connection, connection:
        connection.execute("UPDATE storage_auditentry SET at = datetime(at, '-2 days')")
    again = machine.run("demo", "--no-serve")
    assert again.returncode == 0, again.stderr
    assert "it is from an earlier day; it was kept as" in again.stdout
    assert len(list(machine.folder.glob("demo-before-*.sqlite3"))) == 1
    assert file.stat().st_ino != first


def test_the_demo_serves_its_link_and_a_second_one_is_told_the_address(machine):
    port = free_port()
    with machine.start("demo", "--no-open", "--port", port) as server:
        link = server.wait_for(r"(http://localhost:\S+)")
        assert link.startswith(f"http://localhost:{port}/sign-in/")
        with opened(link) as page:
            assert page.status == 200
            assert page.url == f"http://localhost:{port}/"
        with pytest.raises(urllib.error.HTTPError) as used:
            opened(link)
        used.value.close()
        second = machine.run("demo", "--no-open")
        assert second.returncode == 5
        assert f"in use already: http://localhost:{port}" in second.stderr
        restored = machine.run("--demo", "restore", _copy_of(machine.folder / "demo.sqlite3"))
        assert restored.returncode == 5
        assert f"http://localhost:{port}/sign-in/" in machine.run("--demo", "sign-in").stdout
        code, rest = server.stop(signal.SIGTERM)
    assert (code, rest.splitlines()[-1]) == (0, "Stopped.")


def test_an_empty_folder_gets_a_database_a_workspace_and_a_link(machine):
    port = free_port()
    with machine.start("serve", "--no-open", "--port", port) as server:
        link = server.wait_for(r"(http://localhost:\S+)")
        with opened(link) as page:
            assert page.status == 200
        code, _ = server.stop(signal.SIGINT)
    assert code == 0
    told = json.loads(machine.run("doctor", "--json").stdout)
    assert {check["result"] for check in told} == {"fine"}
    backed_up = machine.run("backup")
    assert backed_up.returncode == 0, backed_up.stderr
    (backup,) = (machine.folder / "backups").iterdir()
    restored = machine.run("restore", backup)
    assert restored.returncode == 0, restored.stderr
    assert "before-restore" in restored.stdout


def test_a_taken_port_is_said(machine):
    with closing(socket.socket()) as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = taken.getsockname()[1]
        done = machine.run("serve", "--no-open", "--port", port)
    assert done.returncode == 5
    assert f"Port {port} of this machine is taken" in done.stderr


@pytest.mark.parametrize("command", ["serve", "demo"])
def test_a_read_only_folder_is_said(machine, command):
    machine.folder.mkdir()
    with read_only(machine.folder):
        done = machine.run(command, "--no-open")
    assert done.returncode == 6, done.stdout + done.stderr
    assert "may not be written to" in done.stderr
    assert "Traceback" not in done.stderr


def test_a_file_in_the_place_of_the_folder_is_said(machine):
    machine.folder.write_text("mine", encoding="utf-8")
    done = machine.run("serve", "--no-open")
    assert done.returncode == 6
    assert "a file stands where a folder is needed" in done.stderr
    assert machine.folder.read_text(encoding="utf-8") == "mine"


def test_a_full_disk_is_said_and_leaves_no_half_demo(machine, tmp_path):
    with small_disk(machine.folder, kib=700):
        done = machine.run("demo", "--no-serve")
        assert done.returncode == 6, done.stdout + done.stderr
        assert "disk is full" in done.stderr
        assert "Traceback" not in done.stderr


def test_a_half_written_database_is_said_and_left_as_it_is(machine):
    assert machine.run("demo", "--no-serve").returncode == 0
    demo = machine.folder / "demo.sqlite3"
    half = demo.read_bytes()[: demo.stat().st_size // 2]
    own = machine.folder / "pupilage.sqlite3"
    own.write_bytes(half)
    for arguments in (["serve", "--no-open"], ["programme", "show"], ["backup"], ["export", "x.json"]):
        done = machine.run(*arguments)
        assert done.returncode == 6, (arguments, done.stdout, done.stderr)
        assert "damaged or half-written" in done.stderr
        assert own.read_bytes() == half
    assert machine.run("doctor").returncode == 1

    demo.write_bytes(half)
    fresh = machine.run("demo", "--no-serve")
    assert fresh.returncode == 0, fresh.stderr
    assert "it is damaged" in fresh.stdout


@pytest.mark.parametrize(
    ("name", "value", "sentence"),
    [
        ("DATABASE_URL", "mysql://x/y", "DATABASE_URL starts with “mysql:”"),
        ("PUPILAGE_SETTINGS", "cloud", "give local or team"),
        ("PUPILAGE_SETTINGS", "team", "PUPILAGE_SECRET_KEY is not set"),
    ],
)
def test_a_wrong_setting_is_said(machine, monkeypatch, name, value, sentence):
    monkeypatch.setattr(
        type(machine),
        "environment",
        property(lambda self: {**os.environ, "PUPILAGE_DATA": str(self.folder), name: value}),
    )
    monkeypatch.delenv("DJANGO_SETTINGS_MODULE", raising=False)
    done = machine.run("doctor")
    assert done.returncode == 2
    assert sentence in done.stderr


def _copy_of(file: Path) -> Path:
    from pupilage.storage.backup import copy_database

    copy = file.with_name("copy.sqlite3")
    copy_database(file, copy)
    return copy
