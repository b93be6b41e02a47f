"""A pup's outings: when it goes by itself, what is still taken from its age, and how far it has come."""

from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET

from pupilage.reports.outing_curve import draw_curve
from pupilage.services.read_outings import read_outings
from pupilage.web import clock
from pupilage.web.outing_words import limit_rows, prior_rows


@require_GET
def outings(request: HttpRequest, dog_id: UUID) -> HttpResponse:
    """Show what the log says of a dog's outings."""
    now = clock.now()
    page = read_outings(request.actor, dog_id, now=now)
    context = {"page": page, "now": now}
    if page.reading is not None:
        context |= {
            "drawing": draw_curve(page.reading.curve, page.reading.risk),
            "limits": limit_rows(page.reading),
            "priors": prior_rows(page.reading),
        }
    return render(request, "pupilage/outings.html", context)
