"""The web server of one laptop: cheroot's threads on the loopback address, stopped by Ctrl-C or SIGTERM."""

import os
import signal
import socket
import sys
import threading
import webbrowser
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Any

from pupilage.core.errors import Conflict, InvalidInput

if TYPE_CHECKING:
    from cheroot.wsgi import Server

HOST = "127.0.0.1"
USUAL_PORT = 8412
N_THREADS = 8
PORTS_TRIED = 20
WAITS_S = 1.0
"""How long one wait for the end takes; on Windows a wait without an end cannot be interrupted (from memory)."""


def choose_port(port: int | None, *, may_move: bool) -> int:
    """Return a free port: the one asked for, or the usual one; `may_move`: the next free one will do.

    Raises Conflict when it is taken.
    """
    if port is not None and not 1 <= port <= 65535:
        raise InvalidInput.of("--port", "{port} is no port; give a number from 1024 to 65535.", port=port)
    wanted = USUAL_PORT if port is None else port
    tried = range(wanted, min(wanted + PORTS_TRIED, 65536)) if may_move and port is None else (wanted,)
    for candidate in tried:
        if is_free(candidate):
            return candidate
    raise Conflict(
        "Port {port} of this machine is taken by another program; choose another, such as --port {other}.",
        port=wanted,
        other=wanted + 1 if wanted < 65535 else USUAL_PORT,
    )


def is_free(port: int, host: str = HOST, option: str = "--port") -> bool:
    """Return whether a port of one of this machine's addresses can be opened. Raises InvalidInput where it may not."""
    with socket.socket() as probe:
        if os.name != "nt":
            probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind((host, port))
        except PermissionError as error:
            raise InvalidInput.of(
                option, "This account may not open port {port}; choose one from 1024 on.", port=port
            ) from error
        except OSError:
            return False
    return True


def address_of(port: int) -> str:
    """Return the address under which the server is reached from this machine."""
    return f"http://localhost:{port}"


def serve_until_stopped(
    application: Any, port: int, when_ready: Callable[[], None], beside: Sequence["Server"] = ()
) -> None:
    """Serve until Ctrl-C or SIGTERM, then finish the requests that run and return.

    `when_ready` is called once the port answers. beside: servers at other addresses, which run and stop with this one.
    """
    from cheroot.wsgi import Server

    server = Server((HOST, port), application, numthreads=N_THREADS, server_name="localhost")
    all_servers = (server, *beside)
    stopped = threading.Event()
    signal.signal(signal.SIGTERM, lambda *_: stopped.set())
    try:
        for one in all_servers:
            one.prepare()
        # this thread only waits: a signal that raised inside cheroot could leave one of its locks held
        _each_in_a_thread([one.serve for one in all_servers])
        when_ready()
        while not stopped.wait(timeout=WAITS_S):
            pass
    except KeyboardInterrupt:
        pass
    finally:
        for thread in _each_in_a_thread([one.stop for one in all_servers]):
            thread.join()


def _each_in_a_thread(calls: Sequence[Callable[[], None]]) -> list[threading.Thread]:
    threads = [threading.Thread(target=call, daemon=True) for call in calls]
    for thread in threads:
        thread.start()
    return threads


def open_in_browser(link: str) -> None:
    """Open a link where there is a screen to open it on; without one, or on any trouble, do nothing."""
    if sys.platform.startswith("linux") and not (os.environ.get("DISPLAY") or os.environ.get("WAYLAND_DISPLAY")):
        return  # a text browser would take over the terminal
    threading.Thread(target=_open, args=(link,), daemon=True).start()


def _open(link: str) -> None:
    try:
        webbrowser.open(link)
    except (webbrowser.Error, OSError):
        return
