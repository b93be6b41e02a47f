"""The installable app: its manifest, its service worker, and the logger's shell, which holds nobody's data.

All three are open to everybody: a browser asks for the manifest without a cookie, and a shell that was fetched while
signed out must not be a sign-in page.
"""

import json
from functools import cache
from hashlib import sha256

from django.contrib.staticfiles import finders
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import render
from django.templatetags.static import static
from django.urls import reverse
from django.utils.translation import gettext
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_GET

from pupilage import __version__
from pupilage.services.read_phone_day import NOWHERE
from pupilage.web.live_frame import live_frame

PAPER, PEN = "#f7f4ec", "#1f4a63"

SHELL_FILES = tuple(
    f"pupilage/{name}"
    for name in (
        "notebook.css",
        "pages.css",
        "live.css",
        "install.js",
        "live.js",
        "screen.js",
        "start.js",
        "store.js",
        "queue.js",
        "book.js",
        "words.js",
        "deciding.js",
        "hands.js",
        "mat.js",
        "seen.js",
        "standing.js",
        "unsent_file.js",
        "icon.svg",
    )
)
"""All that the logger needs to open without a network; tests/web/test_pwa.py holds it to what the page asks for."""

ICONS = (
    ("icon-192.png", "192x192", "any"),
    ("icon-512.png", "512x512", "any"),
    ("icon-masked.png", "512x512", "maskable"),
)


@require_GET
@never_cache
def logger(request: HttpRequest) -> HttpResponse:
    """Show the logger's shell: the session screen without a session, filled on the device from what it keeps."""
    return render(request, "pupilage/live.html", live_frame() | {"head": None})


@require_GET
@never_cache
def service_worker(request: HttpRequest) -> HttpResponse:
    """Return the service worker, which names the files of this build; from the root, so that it covers every page."""
    context = {
        "version": build_version(),
        "shell": reverse("logger"),
        "small": reverse("sync-token"),
        "files": [static(name) for name in SHELL_FILES],
        "live": reverse("live", args=[NOWHERE]).replace(str(NOWHERE), "[0-9a-f-]{36}"),
    }
    return render(request, "pupilage/sw.js", {"build": json.dumps(context)}, content_type="text/javascript")


@require_GET
@never_cache
def manifest(request: HttpRequest) -> JsonResponse:
    """Return the manifest of the installable app."""
    body = {
        "name": "Pupilage",
        "short_name": "Pupilage",
        "description": gettext("A young dog's training, written down as it happens."),
        "id": "/",
        "start_url": reverse("logger"),
        "scope": "/",
        "display": "standalone",
        "orientation": "any",
        "lang": request.LANGUAGE_CODE if hasattr(request, "LANGUAGE_CODE") else "en",
        "background_color": PAPER,
        "theme_color": PEN,
        "icons": [
            {"src": static("pupilage/icon.svg"), "sizes": "any", "type": "image/svg+xml", "purpose": "any"},
            *(
                {"src": static(f"pupilage/{name}"), "sizes": sizes, "type": "image/png", "purpose": purpose}
                for name, sizes, purpose in ICONS
            ),
        ],
    }
    return JsonResponse(body, content_type="application/manifest+json")


@cache
def build_version() -> str:
    """Return a word that changes with every file of the shell."""
    found = sha256(__version__.encode())
    for name in SHELL_FILES:
        found.update(static(name).encode())
        path = finders.find(name)
        if path is not None:
            with open(path, "rb") as file:  # a module that others import has no name of its own for each content
                found.update(file.read())
    found.update(json.dumps(live_frame(), default=str, sort_keys=True).encode())
    return found.hexdigest()[:16]
