"""The family's page behind its link: read, look, write down. Nobody signs in: the link is the key."""

from collections.abc import Callable
from functools import wraps
from typing import Any
from uuid import UUID, uuid4

from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone, translation
from django.views.decorators.csrf import csrf_exempt
from django.views.decorators.http import require_POST, require_safe

from pupilage.core.access import FamilyGuest
from pupilage.core.errors import Conflict, Forbidden, InvalidInput, NotFound, PupilageError
from pupilage.reports.family.labels import labels_of
from pupilage.reports.family.tongue import FamilyTongue
from pupilage.services.log_family_entry import log_family_entry, take_family_entry_back
from pupilage.services.read_family_view import FamilyView, get_shown_media, read_family_view
from pupilage.services.share_family_page import open_family_link
from pupilage.web import clock
from pupilage.web.family_rows import own_rows
from pupilage.web.forms.family import FamilyTapForm
from pupilage.web.guessing import is_guessing
from pupilage.web.media import media_response

View = Callable[..., HttpResponse]


def behind_link(view: View) -> View:
    """Open the link, or refuse in one way whatever is wrong with it; keep the answer out of caches and indexes."""

    @wraps(view)
    def opened(request: HttpRequest, token: str, **kwargs: Any) -> HttpResponse:
        try:
            guest = open_family_link(token, now=clock.now())
        except NotFound:
            return _private(_refusal(request))
        with translation.override(guest.language), timezone.override(guest.zone):
            return _private(view(request, guest, token, **kwargs))

    return opened


@require_safe
@behind_link
def family(request: HttpRequest, guest: FamilyGuest, token: str) -> HttpResponse:
    """Show the page."""
    return page_response(request, read_family_view(guest, now=clock.now()), guest, token)


@csrf_exempt
@require_POST
@behind_link
def family_log(request: HttpRequest, guest: FamilyGuest, token: str) -> HttpResponse:
    """Write a tap down, or take one back, and show the page again.

    No CSRF token: no cookie says who somebody is here, so a foreign page has nothing to misuse but the link itself.
    """
    now = clock.now()
    form = FamilyTapForm(request.POST)
    try:
        if (entry := form.taken_back()) is not None:
            take_family_entry_back(guest, entry, now=now)
            return _back(token, "gone")
        written = log_family_entry(guest, form.tap(now), now=now)
    except (InvalidInput, Forbidden, Conflict, NotFound) as error:
        view = read_family_view(guest, now=now)
        return page_response(request, view, guest, token, refused=error, status=422)
    return _back(token, "yes" if written else "same")


@require_safe
@behind_link
def family_media(request: HttpRequest, guest: FamilyGuest, token: str, media_id: UUID) -> HttpResponse:
    """Give a picture or a clip of the page; a missing one is a decent page."""
    try:
        content, content_type = get_shown_media(guest, media_id)
    except NotFound as error:
        t = FamilyTongue.of_guest(guest)
        context = {
            "lines": [t.said(error.sentence)],
            "back": reverse("family", args=[token]),
            "language": guest.language,
        }
        return render(request, "pupilage/family_refusal.html", context, status=404)
    return media_response(request, content, content_type)


def page_response(
    request: HttpRequest,
    view: FamilyView,
    guest: FamilyGuest | None,
    token: str,
    *,
    refused: PupilageError | None = None,
    status: int = 200,
) -> HttpResponse:
    """Return the page, for a guest or, without one, as the trainer's preview."""
    t = FamilyTongue(view.language)
    context = {
        "view": view,
        "label": labels_of(t),
        "token": token,
        "entry": lambda: uuid4(),
        "own": own_rows(t, view.own),
        "unwanted": [(one.key, t.text(one.name)) for one in view.unwanted],
        "ask": _asked(t, view),
        "done": _done(t, request.GET.get("done", "")),
        "problems": [] if refused is None else _problems(t, refused),
        "typed": request.POST if refused is not None else {},
        "preview": guest is None,
    }
    return render(request, "pupilage/family.html", context, status=status)


def _asked(t: FamilyTongue, view: FamilyView) -> list[tuple[str, str, int]]:
    """Return the cues of the follow-up that nothing was told of yet: key, name, week."""
    if view.ask is None:
        return []
    names = {skill.key: skill.name for skill in view.text.skills}
    return [(one.behaviour, names.get(one.behaviour, ""), view.ask.week) for one in view.ask.tried if one.n == 0]


def _problems(t: FamilyTongue, error: PupilageError) -> list[str]:
    if isinstance(error, InvalidInput):
        return [t.said(problem.sentence) for problem in error.problems]
    return [t.said(error.sentence)]


def _done(t: FamilyTongue, told: str) -> str:
    return {
        "yes": t.of("Written down. Thank you."),
        "same": t.of("That was written down before. Nothing was added."),
        "gone": t.of("Taken back."),
    }.get(told, "")


def _back(token: str, told: str) -> HttpResponse:
    return HttpResponseRedirect(f"{reverse('family', args=[token])}?done={told}#top")


REFUSALS = (
    (
        "en",
        "This link does not open anything.",
        "Ask the trainer for a new one. Nothing that you wrote before was lost.",
    ),
    (
        "de",
        "Dieser Link öffnet nichts.",
        "Bitte fragt im Training nach einem neuen. Nichts, was ihr vorher geschrieben habt, ging verloren.",
    ),
)
"""Whose link it was, and so in which language to say it, is not known: it is said in both."""


def _refusal(request: HttpRequest) -> HttpResponse:
    """Return the page for a link that opens nothing, whatever the reason; what was typed comes back to be copied."""
    too_many = is_guessing(request)
    context = {"both": REFUSALS, "typed": request.POST.get("note", ""), "language": "en"}
    response = render(request, "pupilage/family_refusal.html", context, status=429 if too_many else 404)
    if too_many:
        response["Retry-After"] = "600"
    return response


def _private(response: HttpResponse) -> HttpResponse:
    response["Referrer-Policy"] = "no-referrer"
    response["X-Robots-Tag"] = "noindex, nofollow, noarchive"
    response.setdefault("Cache-Control", "private, no-store")
    return response
