"""What a pup can bear of a behaviour: how long, how far, how distracting, where."""

from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET

from pupilage.services.read_catalogue import read_catalogue
from pupilage.services.read_threshold import read_threshold
from pupilage.web import clock
from pupilage.web.threshold_words import household_lines, threshold_lines


@require_GET
def thresholds(request: HttpRequest, programme_id: UUID, key: str) -> HttpResponse:
    """Show the threshold map of a behaviour at the step to practise next."""
    page = read_threshold(request.actor, programme_id, key, now=clock.now())
    context = {
        "page": page,
        "lines": threshold_lines(page),
        "household": household_lines(page),
        "catalogue": read_catalogue(),
    }
    return render(request, "pupilage/thresholds.html", context)
