"""The trainer's own look back, for the trainer alone."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from pupilage.reports.charts.forecasts import draw_calibration
from pupilage.reports.own_review_words import evidence_rows, road_rows, slip_rows
from pupilage.services.read_own_review import read_own_review
from pupilage.web import clock

MOST_NEW_S = 2.0
"""Seconds after which no other stay is begun while somebody waits for the page: a phone waits for ten in all."""


@require_safe
def own_review(request: HttpRequest) -> HttpResponse:
    """Show forecasts beside what came, how long goals took, and own slips."""
    review = read_own_review(request.actor, now=clock.now(), most_new_s=MOST_NEW_S)
    shown = {
        "review": review,
        "chart": draw_calibration(review.scores) if review.scores is not None else None,
        "evidence": evidence_rows(review.by_evidence),
        "roads": road_rows(review.roads),
        "slips": slip_rows(review.slips),
    }
    answer = render(request, "pupilage/own_review.html", shown)
    answer["Cache-Control"] = "no-store, private"
    return answer
