"""Incidents: writing one down in a few taps, and what the record says of them."""

from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from pupilage.core.errors import InvalidInput
from pupilage.core.incidents.teeth import what_to_do
from pupilage.reports.charts.incidents import draw_incidents
from pupilage.services.log_incident import log_incident, take_incident_back
from pupilage.services.read_catalogue import read_catalogue
from pupilage.services.read_incidents import read_incidents, read_moment
from pupilage.web import clock
from pupilage.web.forms.incident import IncidentForm
from pupilage.web.forms.problems import add_problems
from pupilage.web.incident_words import before_words
from pupilage.web.words import said


@require_http_methods(["GET", "POST"])
def incident(request: HttpRequest, dog_id: UUID) -> HttpResponse:
    """Show the form, with what the log already knows ticked; on POST write the incident."""
    now = clock.now()
    page = read_incidents(request.actor, dog_id, now=now)
    moment = read_moment(request.actor, dog_id, at=now)
    form = IncidentForm(
        request.POST if request.method == "POST" else None,
        initial={"at": timezone.localtime(now), "before": [before.value for before in moment.before]},
        unwanted=read_catalogue().unwanted.values(),
        counts=page.counts,
    )
    if request.method == "POST":
        request.actor.require_write()
        if form.is_valid():
            try:
                log_incident(request.actor, dog_id, form.entry(), now=now)
            except InvalidInput as error:
                add_problems(form, error)
            else:
                return _written(request, dog_id, form)
    context = {"page": page, "form": form, "moment": moment}
    return render(request, "pupilage/incident.html", context, status=400 if form.is_bound else 200)


@require_GET
def incidents(request: HttpRequest, dog_id: UUID) -> HttpResponse:
    """Show what the record says: of the behaviour that ?behaviour= names, else of the commonest."""
    page = read_incidents(request.actor, dog_id, behaviour=request.GET.get("behaviour", ""), now=clock.now())
    context: dict[str, Any] = {"page": page, "unwanted": read_catalogue().unwanted}
    if page.answers is not None:
        context["charts"] = draw_incidents(page.answers, before_words)
    return render(request, "pupilage/incidents.html", context)


@require_POST
def take_back(request: HttpRequest, incident_id: UUID) -> HttpResponse:
    """Take an incident back."""
    dog_id = take_incident_back(request.actor, incident_id, now=clock.now())
    messages.success(request, gettext("Taken back."))
    return redirect("incidents", dog_id=dog_id)


def _written(request: HttpRequest, dog_id: UUID, form: IncidentForm) -> HttpResponse:
    first = what_to_do(form.entry().teeth)
    messages.success(request, said(first) if first else gettext("Written down."))
    return redirect("incidents", dog_id=dog_id)
