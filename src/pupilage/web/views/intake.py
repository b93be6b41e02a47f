"""The intake: from an empty database to a stay with goals."""

from datetime import datetime
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods

from pupilage.core.errors import InvalidInput
from pupilage.services.read_session_card import list_reinforcer_cards
from pupilage.services.read_workspace import read_workspace
from pupilage.services.set_preferences import Preferences, set_preferences
from pupilage.services.start_programme import start_programme
from pupilage.web import clock
from pupilage.web.forms.intake import (
    FIELD_OF,
    USUAL_STAY,
    IntakeForm,
    ReinforcerRows,
    VetDateRows,
    first_reinforcers,
    intake_of,
)
from pupilage.web.forms.problems import add_problems


@require_http_methods(["GET", "POST"])
def intake(request: HttpRequest) -> HttpResponse:
    """Show the intake; on POST start the stay, or show everything that is wrong beside what was typed."""
    now = clock.now()
    request.actor.require_write()
    form, reinforcers, vet_dates = _forms(request, now)
    if request.method == "POST" and all([form.is_valid(), reinforcers.is_valid(), vet_dates.is_valid()]):
        try:
            programme_id = _start(request, form, reinforcers.cleaned_data, vet_dates.cleaned_data, now)
        except InvalidInput as error:
            add_problems(form, error, FIELD_OF)
        else:
            return redirect("goals", programme_id=programme_id)
    context = {"form": form, "reinforcers": reinforcers, "vet_dates": vet_dates}
    wrong = form.is_bound
    return render(request, "pupilage/intake.html", context, status=400 if wrong else 200)


def _forms(request: HttpRequest, now: datetime) -> tuple[Any, Any, Any]:
    given = request.POST if request.method == "POST" else None
    actor = request.actor
    today = now.astimezone(actor.zone).date()
    initial = {
        "household": read_workspace(actor).name,
        "arrival_on": today,
        "handover_on": today + USUAL_STAY,
        "sessions_a_day": 4,
        "timezone": actor.timezone,
        "weight_unit": actor.weight_unit.value,
    }
    proposed = [] if list_reinforcer_cards(actor) else first_reinforcers()
    return (
        IntakeForm(given, initial=initial, today=today),
        ReinforcerRows(given, prefix="reinforcer", initial=proposed, form_kwargs={"label_suffix": ""}),
        VetDateRows(given, prefix="vet", form_kwargs={"label_suffix": ""}),
    )


def _start(request: HttpRequest, form: IntakeForm, reinforcers: Any, vet_dates: Any, now: datetime) -> Any:
    given, actor = form.cleaned_data, request.actor
    programme_id = start_programme(actor, intake_of(given, reinforcers, vet_dates), now=now)
    chosen = Preferences(actor.language, given["timezone"], given["weight_unit"])
    set_preferences(actor, chosen, now=now)
    return programme_id
