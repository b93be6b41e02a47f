"""A session's record, and putting it right."""

from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext
from django.views.decorators.http import require_GET, require_POST

from pupilage.core.errors import InvalidInput
from pupilage.core.training.record.evidence import Outcome
from pupilage.services.correct_trial import correct_trial
from pupilage.services.note_session import note_session
from pupilage.services.read_after_session import read_after_session
from pupilage.services.read_session import read_session
from pupilage.web import clock
from pupilage.web.device import device_of, tz_offset_min
from pupilage.web.forms.correction import TAKE_BACK, CorrectionForm
from pupilage.web.session_log import log_rows


@require_GET
def session(request: HttpRequest, session_id: UUID) -> HttpResponse:
    """Show a session's tries and its whole log."""
    page = read_session(request.actor, session_id, now=clock.now())
    low, high = page.at_last_step.interval()
    context = {
        "page": page,
        "low": low,
        "high": high,
        "rows": [(trial, page.step_summary(trial)) for trial in page.record.trials],
        "log": log_rows(page),
        "outcomes": list(Outcome),
        "take_back": TAKE_BACK,
        "after": read_after_session(request.actor, session_id, now=clock.now()),
        "page_words": {"dictate": gettext("Dictate"), "listening": gettext("Listening … tap to stop")},
    }
    return render(request, "pupilage/session.html", context)


@require_POST
def note(request: HttpRequest, session_id: UUID) -> HttpResponse:
    """Write a note into the session's log and show the record again."""
    now = clock.now()
    request.actor.require_write()
    note_session(
        request.actor,
        session_id,
        request.POST.get("text", ""),
        device_id=device_of(request),
        tz_offset_min=tz_offset_min(request, now),
        now=now,
    )
    return redirect("session", session_id=session_id)


@require_POST
def correct(request: HttpRequest, session_id: UUID) -> HttpResponse:
    """Write a correction and show the record again."""
    now = clock.now()
    request.actor.require_write()
    form = CorrectionForm(request.POST)
    if not form.is_valid():
        raise InvalidInput.of("", "Say which try, and what is to stand for it: go back and choose one.")
    correct_trial(
        request.actor,
        session_id,
        form.correction(),
        device_id=device_of(request),
        tz_offset_min=tz_offset_min(request, now),
        now=now,
    )
    messages.success(request, gettext("Put right; the first entry stays in the log."))
    return redirect("session", session_id=session_id)
