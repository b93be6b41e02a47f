"""Incidents: writing one down in a few taps, and what the record says of them."""

from datetime import datetime
from typing import Any
from uuid import UUID, uuid4, uuid5

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from pupilage.core.errors import InvalidInput
from pupilage.core.incidents.between_dogs import ANSWERED_WORDS, APART_WORDS, RESOURCE_WORDS, WHO_WORDS
from pupilage.core.incidents.record import Before
from pupilage.core.incidents.teeth import what_to_do
from pupilage.core.incidents.two_dogs import BEHAVIOURS as BETWEEN_BEHAVIOURS
from pupilage.core.incidents.two_dogs import SIGNS
from pupilage.reports.charts.incidents import draw_incidents
from pupilage.services.log_incident import IncidentEntry, log_incident, take_incident_back
from pupilage.services.read_catalogue import read_catalogue
from pupilage.services.read_incidents import Moment, read_incidents, read_moment, read_two_dogs
from pupilage.web import clock
from pupilage.web.forms.incident import IncidentForm, LeftForm
from pupilage.web.forms.problems import add_problems
from pupilage.web.incident_words import before_words, known_words
from pupilage.web.views.timetable import day_panel
from pupilage.web.words import said

FIRST = 10**6
"""More often than any behaviour is written down: it comes first in the list."""


@require_http_methods(["GET", "POST"])
def incident(request: HttpRequest, dog_id: UUID) -> HttpResponse:
    """Show the form, with what the log already knows ticked; on POST write the incident."""
    now = clock.now()
    page = read_incidents(request.actor, dog_id, now=now)
    moment = read_moment(request.actor, dog_id, at=now)
    between = "two-dogs" in request.GET
    form = IncidentForm(
        request.POST if request.method == "POST" else None,
        initial=_known(request, moment, between=between, now=now),
        unwanted=read_catalogue().unwanted.values(),
        counts={**page.counts, **({BETWEEN_BEHAVIOURS[0]: FIRST} if between else {})},
        places=moment.places,
    )
    if request.method == "POST":
        request.actor.require_write()
        if form.is_valid():
            try:
                log_incident(request.actor, dog_id, form.entry(now), now=now)
            except InvalidInput as error:
                add_problems(form, error)
            else:
                return _written(request, dog_id, form.entry(now))
    context = {
        "page": page,
        "form": form,
        "known": known_words(moment.context),
        "n_first": 3 if between else 6,
        "between": between or bool(page.residents and form.is_bound),
    }
    return render(request, "pupilage/incident.html", context, status=400 if form.is_bound else 200)


def _known(request: HttpRequest, moment: Moment, *, between: bool, now: datetime) -> dict[str, Any]:
    """Return what is filled in already; all of it can be changed."""
    before = [one.value for one in moment.before]
    return {
        "at": timezone.localtime(now),
        "before": [*before, *([Before.RESIDENT_NEAR.value] if between and Before.RESIDENT_NEAR not in before else [])],
        "supervised": Before.UNWATCHED not in moment.before,
        "in_charge": request.user.display_name or request.user.username,
        **({"behaviour": BETWEEN_BEHAVIOURS[0]} if between else {}),
    }


@require_POST
def left(request: HttpRequest, dog_id: UUID) -> HttpResponse:
    """Write down with one tap that it left it, or was caught in time: from what runs on Today, or the incidents."""
    now = clock.now()
    request.actor.require_write()
    form = LeftForm(request.POST)
    if not form.is_valid():
        raise InvalidInput.of("", "This was not written down; look at the page anew and tap again.")
    behaviour, near = form.cleaned_data["behaviour"], form.cleaned_data["near"]
    entry = IncidentEntry(
        behaviour,
        now,
        before=read_moment(request.actor, dog_id, at=now).before,
        left_it=not near,
        near_miss=near,
        incident_id=uuid5(form.cleaned_data["event_id"] or uuid4(), f"{behaviour} {near}"),
    )
    incident_id = log_incident(request.actor, dog_id, entry, now=now)
    if request.htmx:
        return day_panel(request, dog_id, now, left_it={"id": incident_id, "behaviour": behaviour, "at": now})
    messages.success(
        request, gettext("Written down: in time.") if near else gettext("Written down: it looked, and left it.")
    )
    if request.POST.get("from") == "today":
        return redirect("today")
    return redirect(f"{reverse('incidents', args=[dog_id])}?behaviour={behaviour}")


@require_GET
def two_dogs(request: HttpRequest, dog_id: UUID) -> HttpResponse:
    """Show what the record says of the pup and the dog of the house."""
    page = read_two_dogs(request.actor, dog_id, now=clock.now())
    lists = [
        (_("Over what"), page.answers.resources, RESOURCE_WORDS),
        (_("Who started it"), page.answers.started, WHO_WORDS),
        (_("How far apart when it began"), page.answers.apart, APART_WORDS),
        (_("The most the resident dog did"), page.answers.answered, ANSWERED_WORDS),
        (_("Who ended it"), page.answers.ended, WHO_WORDS),
    ]
    context = {
        "page": page,
        "lists": [
            (title, [(said(words[key]), share) for share in shares for key in words if key == share.key])
            for title, shares, words in lists
            if shares
        ],
        "signs": SIGNS,
    }
    return render(request, "pupilage/two_dogs.html", context)


@require_GET
def incidents(request: HttpRequest, dog_id: UUID) -> HttpResponse:
    """Show what the record says: of the behaviour that ?behaviour= names, else of the commonest."""
    page = read_incidents(request.actor, dog_id, behaviour=request.GET.get("behaviour", ""), now=clock.now())
    context: dict[str, Any] = {"page": page, "unwanted": read_catalogue().unwanted, "nonce": uuid4()}
    if page.answers is not None:
        context["charts"] = draw_incidents(page.answers, before_words)
    return render(request, "pupilage/incidents.html", context)


@require_POST
def take_back(request: HttpRequest, incident_id: UUID) -> HttpResponse:
    """Take an incident back."""
    now = clock.now()
    dog_id = take_incident_back(request.actor, incident_id, now=now)
    if request.htmx:
        return day_panel(request, dog_id, now, taken_back=True)
    messages.success(request, gettext("Taken back."))
    return redirect("incidents", dog_id=dog_id)


def _written(request: HttpRequest, dog_id: UUID, entry: IncidentEntry) -> HttpResponse:
    first = what_to_do(entry.teeth)
    messages.success(request, said(first) if first else gettext("Written down."))
    if entry.between is not None:
        return redirect("two-dogs", dog_id=dog_id)
    return redirect("incidents", dog_id=dog_id)
