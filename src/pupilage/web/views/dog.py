"""A dog's page, and its weight."""

from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from pupilage.core.errors import InvalidInput
from pupilage.core.training.rewards.reinforcers import OTHERWISE
from pupilage.services.change_dog import change_dog
from pupilage.services.log_weight import log_weight
from pupilage.services.read_catalogue import read_catalogue
from pupilage.services.read_dog import read_dog
from pupilage.services.read_reinforcers import find_what_works
from pupilage.web import clock
from pupilage.web.forms.care import WeightForm
from pupilage.web.forms.dog import FIELD_OF, DogForm
from pupilage.web.forms.problems import add_problems
from pupilage.web.vet_first import signs_in_words
from pupilage.web.what_works import reinforcer_rows


@require_GET
def dog(request: HttpRequest, dog_id: UUID) -> HttpResponse:
    """Show a dog."""
    return _page(request, dog_id, WeightForm(unit=request.actor.weight_unit))


@require_POST
def weight(request: HttpRequest, dog_id: UUID) -> HttpResponse:
    """Write a weighing."""
    now = clock.now()
    request.actor.require_write()
    form = WeightForm(request.POST, unit=request.actor.weight_unit)
    if form.is_valid():
        try:
            given = form.cleaned_data
            at = given["weighed_at"] or now
            log_weight(request.actor, dog_id, form.weight_kg, at=at, now=now, body_condition=given["body_condition"])
        except InvalidInput as error:
            add_problems(form, error, {"weight_kg": "weight", "at": "weighed_at"})
        else:
            messages.success(request, gettext("Weight written down."))
            return redirect("dog", dog_id=dog_id)
    return _page(request, dog_id, form)


@require_http_methods(["GET", "POST"])
def change(request: HttpRequest, dog_id: UUID) -> HttpResponse:
    """Show what is said of a dog; on POST put it right."""
    now = clock.now()
    page = read_dog(request.actor, dog_id, now=now)
    given = request.POST if request.method == "POST" else None
    form = DogForm(given, dog=page.dog, unit=request.actor.weight_unit)
    if request.method == "POST":
        request.actor.require_write()
        if form.is_valid():
            settled = form.cleaned_data.get("signs_settled", False)
            try:
                change_dog(request.actor, dog_id, form.facts(), signs_settled=settled, now=now)
            except InvalidInput as error:
                add_problems(form, error, FIELD_OF)
            else:
                messages.success(request, gettext("Put right."))
                return redirect("dog", dog_id=dog_id)
    context = {
        "page": page,
        "form": form,
        "signs": signs_in_words(page.dog.signs),
        "analysis_open": form.is_bound or page.dog.food_analysis is not None,
    }
    return render(request, "pupilage/dog_change.html", context, status=400 if form.is_bound else 200)


def _page(request: HttpRequest, dog_id: UUID, form: Any) -> HttpResponse:
    now = clock.now()
    page = read_dog(request.actor, dog_id, now=now)
    works = find_what_works(request.actor, dog_id, now=now)
    context = {
        "page": page,
        "form": form,
        "works": works,
        "reinforcers": reinforcer_rows(works.comparison) if works else [],
        "otherwise": OTHERWISE,
        "catalogue": read_catalogue(),
        "signs": signs_in_words(page.dog.signs),
    }
    return render(request, "pupilage/dog.html", context, status=400 if form.is_bound else 200)
