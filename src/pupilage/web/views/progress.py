"""How far a pup has come: the stay's goals, one behaviour's way, and its counts per minute."""

from datetime import date
from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.translation import gettext
from django.views.decorators.http import require_GET

from pupilage.core.clock import local_day
from pupilage.core.progress.days import met_rates, missed_rates
from pupilage.core.progress.way import Way
from pupilage.reports.charts.celeration import draw_celeration
from pupilage.reports.charts.chart import Chart
from pupilage.reports.charts.goals import draw_goals
from pupilage.reports.charts.plane import draw_plane
from pupilage.reports.charts.progress import draw_held, draw_latency, draw_rewards, draw_way
from pupilage.services.read_programme_progress import read_programme_progress
from pupilage.services.read_progress import read_progress
from pupilage.web import clock
from pupilage.web.progress_words import (
    asked_lines,
    cell_words,
    day_rows,
    due_words,
    goal_rows,
    kept_rows,
    shown_lines,
    step_places,
)
from pupilage.web.threshold_words import DIMENSION_WORDS


@require_GET
def programme_progress(request: HttpRequest, programme_id: UUID) -> HttpResponse:
    """Show a stay's goals, today and at the hand-over."""
    page = read_programme_progress(request.actor, programme_id, now=clock.now())
    context = {
        "page": page,
        "rows": goal_rows(page.goals),
        "due": goal_rows(page.due),
        "chart": draw_goals(page.goals),
    }
    return render(request, "pupilage/programme_progress.html", context)


@require_GET
def behaviour_progress(request: HttpRequest, programme_id: UUID, key: str) -> HttpResponse:
    """Show the way of one behaviour."""
    now = clock.now()
    page = read_progress(request.actor, programme_id, key, now=now)
    way, plane = page.way, page.way.plane
    context = {
        "page": page,
        "way": way,
        "chart": draw_way(way.evenings, way.days, tuple(step_places(way)), way.place - 1),
        "paces": _paces(way, local_day(now, request.actor.zone)),
        "map": None if plane is None else draw_plane(plane, {one: str(word) for one, word in DIMENSION_WORDS.items()}),
        "cells": [] if plane is None else [(*cell_words(plane, cell), cell.n) for cell in plane.cells],
        "axes": () if plane is None else (DIMENSION_WORDS[plane.x], DIMENSION_WORDS[plane.y]),
        "asked": asked_lines(way.where_asked),
        "places": shown_lines(way.places, gettext("place not said")),
        "people": shown_lines(way.people, gettext("the trainer")),
        "days": day_rows(way),
        "kept": kept_rows(way.retention),
        "due": due_words(way.due_in_days),
    }
    return render(request, "pupilage/behaviour_progress.html", context)


def _paces(way: Way, today: date) -> list[Chart]:
    """Return the charts of the days that are over: half a day is not like the others, and they stand for the day."""
    over = tuple(line for line in way.days if line.day < today)
    return [chart for chart in (draw_latency(over), draw_held(over), draw_rewards(over)) if chart is not None]


@require_GET
def celeration(request: HttpRequest, programme_id: UUID, key: str) -> HttpResponse:
    """Show a behaviour's counts per minute on a log axis, and by how much they multiply a week."""
    page = read_progress(request.actor, programme_id, key, now=clock.now())
    met, missed = met_rates(page.way.days), missed_rates(page.way.days)
    context = {
        "page": page,
        "way": page.way,
        "chart": draw_celeration(met, missed, (page.way.met, page.way.missed)),
        "lines": [
            (gettext("Met"), page.way.met),
            (gettext("Missed"), page.way.missed),
        ],
        "rates": list(zip(reversed(met), reversed(missed), strict=True)),
    }
    return render(request, "pupilage/celeration.html", context)
