"""Run as a script: fills a fresh database in PUPILAGE_DATA, then forks a server whenever a line on its input says so.

A forked server is up in some milliseconds, so that it can be killed a thousand times; it is killed from outside, by
its process id. Prints a line of JSON with the address, a sign-in token and the ids of what stands in the database; then
a process id for each line read. With a number as its argument, that many people more may write, each with a token.
"""

import gc
import json
import os
import socket
import sys
from pathlib import Path
from uuid import UUID

N_PHONES = int(sys.argv.pop(1)) if sys.argv[1:] else 0
sys.path[:0] = [str(Path(__file__).parents[1]), str(Path(__file__).parents[1] / "browser")]
import filled  # noqa: E402  it sets Django up
from cheroot.wsgi import Server  # noqa: E402
from django.core.management import call_command  # noqa: E402
from django.db import connections  # noqa: E402
from django.urls import get_resolver  # noqa: E402

from pupilage.services.open_workspace import NewWorkspace, open_workspace  # noqa: E402
from pupilage.services.read_catalogue import read_catalogue  # noqa: E402
from pupilage.services.read_phone_day import read_phone_day  # noqa: E402
from pupilage.services.set_goals import GoalChoice, set_goals  # noqa: E402
from pupilage.services.sign_in import issue_sign_in_link  # noqa: E402

GOALS = ("sit", "recall", "settle-on-mat")
N_THREADS = 8


def fill(n_phones: int) -> dict[str, object]:
    """Fill the database and return what a test needs to find its way."""
    call_command("migrate", verbosity=0)
    call_command("collectstatic", interactive=False, verbosity=0)
    actor = open_workspace(NewWorkspace("Wren's yard", "wren", "Wren", filled.ZONE), now=filled.NOW)
    programme = filled.start_stay(actor)
    behaviours = read_catalogue().behaviours
    goals = [GoalChoice(key, behaviours[key].target, behaviours[key].weight) for key in GOALS]
    set_goals(actor, UUID(programme), goals, now=filled.NOW)
    for days_ago in (3, 2):
        filled.write_session(
            actor, programme, "sit", behaviours["sit"].steps[1].key, ["met"] * 6 + ["missed"], days_ago=days_ago
        )
    tokens = [issue_sign_in_link(actor.user_id, now=filled.NOW) for _ in range(n_phones + 1)]
    read_phone_day(actor, now=filled.NOW)  # what a server loads for its first answer is loaded once, before the forks
    return {
        "now": filled.NOW.isoformat(),
        "programme": programme,
        "token": tokens[0],
        "tokens": tokens[1:],
        "step": behaviours["sit"].steps[1].key,
    }


def free_port() -> int:
    """Return a port that nobody listens on."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def serve(port: int, ready: int) -> None:
    """Serve until killed; say so once the port answers."""
    from pupilage.web.wsgi import application

    server = Server(("127.0.0.1", port), application, numthreads=N_THREADS, server_name="localhost")
    server.prepare()
    os.write(ready, b"1")
    server.serve()


def main() -> None:
    known = fill(N_PHONES)
    port = free_port()
    get_resolver().url_patterns  # noqa: B018
    connections.close_all()
    gc.freeze()
    print(json.dumps({"url": f"http://127.0.0.1:{port}", **known}), flush=True)  # noqa: T201
    for _ in sys.stdin:
        hear, ready = os.pipe()
        pid = os.fork()
        if pid == 0:
            os.close(hear)
            serve(port, ready)
        os.close(ready)
        os.read(hear, 1)
        os.close(hear)
        print(pid, flush=True)  # noqa: T201
        os.waitpid(pid, 0)  # one server at a time: the next line is read when this one is dead


if __name__ == "__main__":
    main()
