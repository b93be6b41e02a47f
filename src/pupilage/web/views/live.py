"""The session screen."""

from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.cache import never_cache
from django.views.decorators.csrf import ensure_csrf_cookie
from django.views.decorators.http import require_GET

from pupilage.services.read_beside import list_second_starts, read_beside
from pupilage.services.read_live_session import read_live_session
from pupilage.services.read_owner import read_owner
from pupilage.web import clock
from pupilage.web.live_frame import live_frame
from pupilage.web.live_state import live_head, live_state, second_choice, second_state


@require_GET
@never_cache
@ensure_csrf_cookie
def live(request: HttpRequest, session_id: UUID) -> HttpResponse:
    """Show the screen of a session that is under way; an ended one goes to its record."""
    actor, now = request.actor, clock.now()
    session = read_live_session(actor, session_id, now=now)
    if session.record.ended_at is not None:
        return redirect("session", session_id=session_id)
    second = read_beside(actor, session_id, now=now)
    context = {
        "head": live_head(session) | {"owner": read_owner(actor)},
        "state": live_state(session),
        "second": second_state(second),
        "seconds": []
        if second
        else [second_choice(one) for one in list_second_starts(actor, session.programme_id, now=now)],
    } | live_frame()
    return render(request, "pupilage/live.html", context)
