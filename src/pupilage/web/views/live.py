"""The session screen."""

from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.cache import never_cache
from django.views.decorators.csrf import ensure_csrf_cookie
from django.views.decorators.http import require_GET

from pupilage.services.read_live_session import read_live_session
from pupilage.services.read_owner import read_owner
from pupilage.services.read_phone_day import NOWHERE
from pupilage.web import clock
from pupilage.web.live_state import live_head, live_state
from pupilage.web.live_words import live_words


@require_GET
@never_cache
@ensure_csrf_cookie
def live(request: HttpRequest, session_id: UUID) -> HttpResponse:
    """Show the screen of a session that is under way; an ended one goes to its record."""
    session = read_live_session(request.actor, session_id, now=clock.now())
    if session.record.ended_at is not None:
        return redirect("session", session_id=session_id)
    context = {
        "head": live_head(session) | {"owner": read_owner(request.actor)},
        "state": live_state(session),
        "page_words": live_words(),
        "any_id": NOWHERE,
    }
    return render(request, "pupilage/live.html", context)
