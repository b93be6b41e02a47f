"""The page on a second port, over plain HTTP, that gives a phone this installation's certificate authority.

It is no part of the pages of the program: nobody signs in, no cookie is set, nothing is read from the records.
"""

from collections.abc import Callable, Iterable
from typing import Any

from django.contrib.staticfiles import finders
from django.template.loader import render_to_string

AUTHORITY_PATH = "/pupilage-authority.crt"
STYLE_PATH = "/notebook.css"
HEADERS = (
    ("Cache-Control", "no-store"),
    ("X-Content-Type-Options", "nosniff"),
    ("Referrer-Policy", "no-referrer"),
    ("Content-Security-Policy", "default-src 'none'; style-src 'self'; frame-ancestors 'none'; base-uri 'none'"),
)

StartResponse = Callable[[str, list[tuple[str, str]]], Any]
Application = Callable[[dict[str, Any], StartResponse], Iterable[bytes]]


def trust_application(authority_der: bytes, fingerprint: str, url: str) -> Application:
    """Return the WSGI application: the steps, the authority as a download, the style sheet, and nothing else."""
    context = {"fingerprint": fingerprint, "url": url, "authority": AUTHORITY_PATH, "style": STYLE_PATH}
    page = render_to_string("pupilage/trust.html", context).encode()
    style = finders.find("pupilage/notebook.css")
    with open(str(style), "rb") as file:
        sheet = file.read()
    found = {
        "/": ("text/html; charset=utf-8", page),
        STYLE_PATH: ("text/css; charset=utf-8", sheet),
        # the type by which phones offer to install an authority (from memory)
        AUTHORITY_PATH: ("application/x-x509-ca-cert", authority_der),
    }

    def answer(environ: dict[str, Any], start: StartResponse) -> Iterable[bytes]:
        if environ["REQUEST_METHOD"] not in {"GET", "HEAD"}:
            start("405 Method Not Allowed", [*HEADERS, ("Allow", "GET, HEAD"), ("Content-Length", "0")])
            return []
        if environ["PATH_INFO"] not in found:
            start("302 Found", [*HEADERS, ("Location", "/"), ("Content-Length", "0")])
            return []
        kind, body = found[environ["PATH_INFO"]]
        start("200 OK", [*HEADERS, ("Content-Type", kind), ("Content-Length", str(len(body)))])
        return [] if environ["REQUEST_METHOD"] == "HEAD" else [body]

    return answer
