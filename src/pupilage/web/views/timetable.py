"""The timetable on Today: shown, made, ticked off, and made anew when something happened."""

from datetime import date, datetime, timedelta
from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import gettext
from django.views.decorators.http import require_GET, require_POST
from django_htmx.http import trigger_client_event

from pupilage.core.errors import Conflict, InvalidInput
from pupilage.core.planning.day.blocks import BlockState
from pupilage.services.log_happening import log_happening
from pupilage.services.make_day_plan import BETTER_S, FIRST_S, follow_events, make_day_plan
from pupilage.services.mark_block import mark_block
from pupilage.services.plan_programme import plan_if_due
from pupilage.services.read_care_panel import read_care_panel
from pupilage.services.read_day_plan import find_day_plan, timetable_day
from pupilage.services.read_programme import ProgrammeHead, find_current_head, read_head
from pupilage.web import clock
from pupilage.web.around import around_context
from pupilage.web.care_words import tap_rows
from pupilage.web.day_rows import block_row, day_rows, timetable_context
from pupilage.web.forms.day import HappenedForm, MarkForm, PlanForm
from pupilage.web.words import said_problems

PLAN_MADE = "plan-made"
"""Tells the page that what is due may have changed with the timetable."""


@require_GET
def timetable(request: HttpRequest, programme_id: UUID) -> HttpResponse:
    """Show the timetable alone; nothing where a page that lies open shows it as it still is."""
    now = clock.now()
    head = read_head(request.actor, programme_id, now=now)
    day = timetable_day(now, request.actor.zone)
    stored = find_day_plan(request.actor, programme_id, day)
    rows = day_rows(stored, now)
    if rows is not None and rows.mark == request.GET.get("seen"):
        return HttpResponse(status=204)
    panel = {"programme_id": programme_id, "day": day}
    context = {"panel": panel, "dog_id": head.dog_id, "now": now, **timetable_context(stored, now)}
    return render(request, "pupilage/parts/timetable.html", context)


@require_POST
def make(request: HttpRequest, programme_id: UUID) -> HttpResponse:
    """Make a day's timetable, today's unless another is asked for.

    The first plan at once; or, when a better one is asked for, by the stay's plan as of today.
    """
    now = clock.now()
    request.actor.require_write()
    head = read_head(request.actor, programme_id, now=now)
    form = PlanForm(request.POST)
    asked = form.cleaned_data if form.is_valid() else {}
    first, day = asked.get("first"), asked.get("day") or timetable_day(now, request.actor.zone)
    before = find_day_plan(request.actor, programme_id, day)
    if not first:
        plan_if_due(request.actor, programme_id, now=now)
    try:
        stored = make_day_plan(request.actor, programme_id, day, now=now, seconds=FIRST_S if first else BETTER_S)
    except (Conflict, InvalidInput) as error:
        return _not_made(request, programme_id, day, error)
    if not request.htmx:
        return redirect(f"{reverse('day-sheet')}?day={day.isoformat()}" if asked.get("sheet") else "today")
    replaced = "" if first else ("better" if before is None or before.plan.blocks != stored.plan.blocks else "same")
    panel = {"programme_id": programme_id, "day": day}
    context = {"panel": panel, "dog_id": head.dog_id, "now": now, "replaced": replaced}
    context["look_again"] = bool(first) and before is None
    response = render(request, "pupilage/parts/timetable.html", {**context, **timetable_context(stored, now)})
    return trigger_client_event(response, PLAN_MADE)


@require_POST
def mark(request: HttpRequest, programme_id: UUID) -> HttpResponse:
    """Tick a block off, skip it, put it off, or take a tick back; then plan the rest of the day anew."""
    now = clock.now()
    request.actor.require_write()
    head = read_head(request.actor, programme_id, now=now)
    form = MarkForm(request.POST)
    if not form.is_valid():
        raise InvalidInput.of("", "This was not written down; look at the timetable anew and tap again.")
    day = form.cleaned_data["day"]
    if form.cleaned_data["later"]:
        return _put_off(request, head, day, form.cleaned_data["key"], now)
    given = form.mark()
    mark_block(request.actor, programme_id, day, given, now=now)
    follow_events(request.actor, head.dog_id, now=now)
    if not request.htmx:
        messages.success(request, gettext("Written down."))
        return redirect("today")
    stored = find_day_plan(request.actor, programme_id, day)
    block = next((b for b in stored.plan.blocks if b.key == given.key), None) if stored else None
    if given.state is BlockState.PLANNED:
        return day_panel(request, head.dog_id, now, taken_back=True)
    return day_panel(request, head.dog_id, now, marked=block_row(block, now) if block else None)


@require_POST
def happened(request: HttpRequest, programme_id: UUID) -> HttpResponse:
    """Write down what went otherwise, and plan the rest of the day anew."""
    now = clock.now()
    request.actor.require_write()
    head = read_head(request.actor, programme_id, now=now)
    form = HappenedForm(request.POST)
    if not form.is_valid():
        raise InvalidInput.of("", "This was not written down; look at the timetable anew and tap again.")
    given = form.cleaned_data
    event = log_happening(
        request.actor, programme_id, given["day"], given["happened"], now=now, event_id=form.event_id_of()
    )
    follow_events(request.actor, head.dog_id, now=now)
    if not request.htmx:
        messages.success(request, gettext("Written down."))
        return redirect("today")
    panel = read_care_panel(request.actor, head.dog_id, now=now)
    written = next((one for one in panel.care if one.id == str(event)), None)
    return day_panel(request, head.dog_id, now, written=written)


@require_GET
def sheet(request: HttpRequest) -> HttpResponse:
    """Show a day's timetable as one page to print; today's unless ?day= says another."""
    now = clock.now()
    head = find_current_head(request.actor, now=now)
    if head is None:
        return redirect("start")
    day = _asked_day(request) or timetable_day(now, request.actor.zone)
    stored = find_day_plan(request.actor, head.id, day)
    blocks = [block_row(one.block, now) for one in stored.shown] if stored else []
    today = timetable_day(now, request.actor.zone)
    context = {
        "head": head,
        "day": day,
        "blocks": blocks,
        "may_be_made": today <= day <= head.handover_on and not blocks,
        "after": day + timedelta(days=1) if day >= today and day < head.handover_on else None,
    }
    return render(request, "pupilage/day_sheet.html", context)


def day_panel(request: HttpRequest, dog_id: UUID, now: datetime, **happened: Any) -> HttpResponse:
    """Return the parts of Today that an entry changes: what is due, the taps, the ration, the timetable."""
    panel = read_care_panel(request.actor, dog_id, now=now)
    context = {
        "panel": panel,
        "dog_id": dog_id,
        "now": now,
        **tap_rows(),
        **timetable_context(panel.timetable, now),
        **around_context(panel, now),
        **happened,
    }
    return render(request, "pupilage/parts/care_written.html", context)


def _put_off(request: HttpRequest, head: ProgrammeHead, day: date, key: str, now: datetime) -> HttpResponse:
    """Place a block anew that was due and is not done yet."""
    make_day_plan(request.actor, head.id, day, now=now, seconds=FIRST_S, late=(key,))
    return day_panel(request, head.dog_id, now) if request.htmx else redirect("today")


def _not_made(request: HttpRequest, programme_id: UUID, day: date, error: Conflict | InvalidInput) -> HttpResponse:
    """Say why there is no timetable, in the timetable's own place."""
    failed = said_problems(error)
    if not request.htmx:
        for sentence in failed:
            messages.error(request, sentence)
        return redirect("today")
    context = {"panel": {"programme_id": programme_id, "day": day}, "rows": None, "failed": failed}
    return render(request, "pupilage/parts/timetable.html", context)


def _asked_day(request: HttpRequest) -> date | None:
    try:
        return date.fromisoformat(request.GET.get("day", ""))
    except ValueError:
        return None
