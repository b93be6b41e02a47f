"""A pup's stay: goals, forecast, sessions."""

from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET

from pupilage.services.read_catalogue import read_catalogue
from pupilage.services.read_programme import list_programmes, read_programme
from pupilage.web import clock
from pupilage.web.rules import compare_rules


@require_GET
def programmes(request: HttpRequest) -> HttpResponse:
    """List the stays, the newest first."""
    return render(request, "pupilage/programmes.html", {"heads": list_programmes(request.actor, now=clock.now())})


@require_GET
def programme(request: HttpRequest, programme_id: UUID) -> HttpResponse:
    """Show a stay."""
    page = read_programme(request.actor, programme_id, now=clock.now())
    context = {"page": page, "catalogue": read_catalogue(), "rules": compare_rules()}
    return render(request, "pupilage/programme.html", context)
