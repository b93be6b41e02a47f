"""Push and pull for phones. 401, 403, a redirect or a reply that is not JSON means to the phone: keep everything."""

from functools import wraps
from typing import Any
from uuid import UUID

from django.http import HttpRequest, HttpResponse, HttpResponseNotModified, JsonResponse
from django.middleware.csrf import get_token
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_GET, require_POST
from pydantic import ValidationError

from pupilage.core.errors import NotFound
from pupilage.services.event_body import EventBody
from pupilage.services.read_ahead import read_ahead
from pupilage.services.read_live_session import read_live_session
from pupilage.services.read_owner import read_owner
from pupilage.services.read_phone_day import find_phone_day_version, read_phone_day
from pupilage.services.record_events import Status, Verdict, record_events
from pupilage.web import clock
from pupilage.web.failures import STATUS_OF, refusal_of
from pupilage.web.live_state import ahead_state, live_state
from pupilage.web.phone_state import day_state
from pupilage.web.sync.bodies import PushBody
from pupilage.web.words import said, said_problems


def answers_json(view: Any) -> Any:
    """Answer Pupilage's own refusals as JSON instead of as a page."""

    @wraps(view)
    def wrapped(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        try:
            return view(request, *args, **kwargs)
        except Exception as error:
            refusal = refusal_of(error)
            if refusal is None:
                raise
            body = {"code": refusal.code, "problems": said_problems(refusal)}
            return JsonResponse(body, status=STATUS_OF.get(refusal.code, 400))

    return wrapped


@require_GET
@never_cache
@answers_json
def token(request: HttpRequest) -> JsonResponse:
    """Return a fresh CSRF token and whose queue may be pushed here; fetched just before a push, never stored."""
    now_ms = round(clock.now().timestamp() * 1000)
    return JsonResponse({"token": get_token(request), "owner": read_owner(request.actor), "now_ms": now_ms})


@require_GET
@never_cache
@answers_json
def day(request: HttpRequest) -> HttpResponse:
    """Return what the phone needs to go without this machine, or 304 where it has the newest."""
    now = clock.now()
    etag = f'"{find_phone_day_version(request.actor, now=now)}"'
    if request.headers.get("If-None-Match") == etag:
        answer: HttpResponse = HttpResponseNotModified()
    else:
        answer = JsonResponse(day_state(read_phone_day(request.actor, now=now)))
    answer["ETag"] = etag
    return answer


@require_POST
@never_cache
@answers_json
def push(request: HttpRequest) -> JsonResponse:
    """Store a batch of events and return a verdict for each, and the sessions they touched."""
    try:
        body = PushBody.model_validate_json(request.body)
    except ValidationError:
        return JsonResponse({"code": "invalid", "problems": ["The body is not a push."]}, status=400)
    if body.owner != read_owner(request.actor):
        return JsonResponse({"code": "other-owner", "problems": []}, status=409)
    events, verdicts = [], []
    for raw in body.events:
        try:
            events.append(EventBody.model_validate(raw).event())
        except ValidationError as error:
            verdicts.append(_misshapen(raw, error))
    now = clock.now()
    verdicts += [_spoken(verdict) for verdict in record_events(request.actor, events, now=now)]
    wanted = None if body.show is None else {str(session_id) for session_id in body.show}
    touched = dict.fromkeys(e.session_id for e in events if wanted is None or e.session_id in wanted)
    return JsonResponse({"verdicts": verdicts, "sessions": _states(request, list(touched))})


@require_GET
@never_cache
@answers_json
def ahead(request: HttpRequest, session_id: UUID) -> JsonResponse:
    """Return the decisions after each outcome of the next tries, for while this machine cannot be asked."""
    return JsonResponse(ahead_state(read_ahead(request.actor, session_id, now=clock.now())))


@require_GET
@never_cache
@answers_json
def session(request: HttpRequest, session_id: UUID) -> JsonResponse:
    """Return a session as it stands."""
    return JsonResponse(live_state(read_live_session(request.actor, session_id, now=clock.now())))


def _states(request: HttpRequest, session_ids: list[str]) -> dict[str, Any]:
    states = {}
    for session_id in session_ids:
        try:
            live = read_live_session(request.actor, UUID(session_id), now=clock.now())
        except NotFound:
            continue  # its start has not arrived yet; the events wait in the log
        states[session_id] = live_state(live)
    return states


def _misshapen(raw: Any, error: ValidationError) -> dict[str, str]:
    first = error.errors()[0]
    where = ".".join(str(part) for part in first["loc"])
    event_id = str(raw.get("id", "")) if isinstance(raw, dict) else ""
    return {
        "id": event_id,
        "status": Status.REJECTED.value,
        "code": "misshapen",
        "reason": f"{where}: {first['msg']}",
    }


def _spoken(verdict: Verdict) -> dict[str, str]:
    return {
        "id": verdict.event_id,
        "status": verdict.status.value,
        "code": verdict.code,
        "reason": said(verdict.reason) if verdict.reason else "",
    }
