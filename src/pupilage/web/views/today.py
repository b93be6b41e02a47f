"""Today: what to do now, and what is due."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_GET

from pupilage.services.read_today import read_today
from pupilage.web import clock
from pupilage.web.around import around_context
from pupilage.web.care_words import tap_rows
from pupilage.web.day_rows import timetable_context
from pupilage.web.proposals import proposal_rows
from pupilage.web.vet_first import signs_in_words


@require_GET
def today(request: HttpRequest) -> HttpResponse:
    """Show the day; from an empty workspace, go to the intake."""
    now = clock.now()
    page = read_today(request.actor, now=now)
    if page is None:
        return redirect("start")
    context = {
        "today": page,
        "panel": page.panel,
        "dog_id": page.head.dog_id,
        "now": now,
        "proposals": proposal_rows(page.proposals),
        "tomorrow": proposal_rows(page.tomorrow),
        **tap_rows(),
        **timetable_context(page.panel.timetable, now),
        **around_context(page.panel, now),
        "signs": signs_in_words(page.head.signs),
    }
    return render(request, "pupilage/today.html", context)
