"""Time alone: the next absence and how calm time grows; leaving with a clock; writing one down afterwards."""

from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_GET, require_http_methods, require_POST
from pydantic import ValidationError

from pupilage.core.errors import InvalidInput
from pupilage.core.incidents.growth import STUCK
from pupilage.core.incidents.panic import MEANWHILE, WHOM
from pupilage.services.log_absence import log_absence, require_absences_writable, take_absence_back
from pupilage.services.note_alone_advice import note_alone_advice
from pupilage.services.read_alone import AlonePage, read_alone
from pupilage.services.read_owner import read_owner
from pupilage.web import clock
from pupilage.web.alone_state import leave_state, leave_words
from pupilage.web.alone_words import COMMON, HAD_WORDS, SIGN_WORDS, SPOT_WORDS, STATE_WORDS, WATCHED_WORDS
from pupilage.web.forms.absence import AbsenceForm
from pupilage.web.forms.problems import add_problems
from pupilage.web.sync.absence import AbsenceBody
from pupilage.web.sync.views import answers_json

SHOWN, KEPT = 8, 60
"""Absences on the page, and those under one more tap; the command line writes them all."""


@require_GET
def alone(request: HttpRequest, dog_id: UUID) -> HttpResponse:
    """Show the next absence, why, and what the record says."""
    page = read_alone(request.actor, dog_id, now=clock.now())
    context = {
        "page": page,
        "shown": page.absences[:SHOWN],
        "earlier": page.absences[SHOWN:KEPT],
        **_words(page),
        **_charts(page),
    }
    return render(request, "pupilage/alone.html", context)


@require_GET
@never_cache
def leave(request: HttpRequest, dog_id: UUID) -> HttpResponse:
    """Show the clock: gone, signs, back."""
    page = read_alone(request.actor, dog_id, now=clock.now())
    last = page.absences[0] if page.absences else None
    context = {
        "page": page,
        "owner": read_owner(request.actor),
        "state": leave_state(page),
        "page_words": leave_words(),
        "last": last,
        "common": [(sign.value, SIGN_WORDS[sign]) for sign in COMMON],
        "rarer": [(sign.value, words) for sign, words in SIGN_WORDS.items() if sign not in COMMON],
        "spots": SPOT_WORDS.items(),
        "hads": HAD_WORDS.items(),
        "states": STATE_WORDS.items(),
        "watcheds": WATCHED_WORDS.items(),
        **_words(page),
    }
    return render(request, "pupilage/leave.html", context)


@require_POST
@never_cache
@answers_json
def push(request: HttpRequest, dog_id: UUID) -> JsonResponse:
    """Store an absence that the clock's page has timed, and say where to go on."""
    require_absences_writable(request.actor, dog_id)
    try:
        body = AbsenceBody.model_validate_json(request.body)
    except ValidationError:
        return JsonResponse({"code": "invalid", "problems": ["The body is no absence."]}, status=400)
    if body.owner != read_owner(request.actor):
        return JsonResponse({"code": "other-owner", "problems": []}, status=409)
    now = clock.now()
    record = body.record(now)
    log_absence(request.actor, dog_id, record, now=now)
    messages.success(request, gettext("Written down."))
    return JsonResponse({"stored": record.id, "next": reverse("alone", args=[dog_id])})


@require_http_methods(["GET", "POST"])
def absence(request: HttpRequest, dog_id: UUID) -> HttpResponse:
    """Show the form for an absence of earlier; on POST write it."""
    now = clock.now()
    page = read_alone(request.actor, dog_id, now=now)
    initial = {"at": timezone.localtime(now), "watched": page.absences[0].watched if page.absences else "camera"}
    form = AbsenceForm(request.POST if request.method == "POST" else None, initial=initial)
    if request.method == "POST":
        request.actor.require_write()
        if form.is_valid():
            try:
                log_absence(request.actor, dog_id, form.record(), now=now)
            except InvalidInput as error:
                add_problems(form, error)
            else:
                messages.success(request, gettext("Written down."))
                return redirect("alone", dog_id=dog_id)
    return render(request, "pupilage/absence.html", {"page": page, "form": form}, status=400 if form.is_bound else 200)


@require_POST
def take_back(request: HttpRequest, absence_id: UUID) -> HttpResponse:
    """Take an absence back."""
    dog_id = take_absence_back(request.actor, absence_id, now=clock.now())
    messages.success(request, gettext("Taken back."))
    return redirect("alone", dog_id=dog_id)


@require_POST
def advice(request: HttpRequest, dog_id: UUID) -> HttpResponse:
    """Write down that a professional said practice may go on."""
    note_alone_advice(request.actor, dog_id, request.POST.get("words", ""), now=clock.now())
    messages.success(request, gettext("Written down. Practice begins anew, at the door."))
    return redirect("alone", dog_id=dog_id)


def _words(page: AlonePage) -> dict[str, Any]:
    if page.proposed[0].seconds is None:
        return {"whom": WHOM, "meanwhile": MEANWHILE}
    return {"stuck": STUCK if page.growth.is_stuck else None}


def _charts(page: AlonePage) -> dict[str, Any]:
    if page.curve is None:
        return {}
    from pupilage.reports.charts.alone import draw_curve, draw_growth  # Altair: wanted by pages with a chart alone

    return {"curve": draw_curve(page.curve, page.waits), "growth": draw_growth(page.growth.days)}
