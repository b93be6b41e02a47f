"""A dog's ration, what it likes best, and something eaten that may harm."""

from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext
from django.views.decorators.http import require_GET, require_POST

from pupilage.core.care.food.doses import CALL_NOW, NO_SALT
from pupilage.core.care.food.meals import NEVER_WITHHOLD, NOT_EATING, POUCH_LEFT
from pupilage.core.errors import InvalidInput
from pupilage.services.rank_reinforcers import rank_reinforcers
from pupilage.services.read_eaten import answer_eaten, read_eaten
from pupilage.services.read_ration import read_ration
from pupilage.services.set_ration import move_ration_on, set_ration
from pupilage.web import clock
from pupilage.web.food_words import METHOD_WORDS
from pupilage.web.forms.food import EatenForm, LikesForm, MethodForm, MoveForm, WantedForm
from pupilage.web.forms.problems import add_problems
from pupilage.web.words import said


@require_GET
def ration(request: HttpRequest, dog_id: UUID) -> HttpResponse:
    """Show a dog's ration; ?sessions=&minutes=&rate= ask what another day of training would take."""
    now = clock.now()
    page = read_ration(request.actor, dog_id, now=now)
    asked = WantedForm(request.GET if "sessions" in request.GET else None, page=page)
    if asked.is_bound and asked.is_valid():
        page = read_ration(request.actor, dog_id, asked.wanted(), now=now)
    context = {
        "page": page,
        "asked": asked,
        "method_form": MethodForm(initial={"method": page.energy_method or page.usual}, lines=page.methods),
        "likes_form": LikesForm(rewards=page.rewards),
        "method_words": METHOD_WORDS,
        "problems": [said(problem.sentence) for problem in page.problems],
        "split_problems": [said(problem.sentence) for problem in page.split_problems],
        "floor_percent": round(100 * page.bowl_floor),
        "never_withhold": NEVER_WITHHOLD,
        "not_eating": NOT_EATING,
        "pouch_left": POUCH_LEFT,
    }
    wrong = asked.is_bound and not asked.is_valid()
    return render(request, "pupilage/ration.html", context, status=400 if wrong else 200)


@require_POST
def choose(request: HttpRequest, dog_id: UUID) -> HttpResponse:
    """Feed by a method from now on."""
    request.actor.require_write()
    now = clock.now()
    form = MethodForm(request.POST, lines=read_ration(request.actor, dog_id, now=now).methods)
    if not form.is_valid():
        raise InvalidInput.of("method", "Choose one of the methods that can be fed by.")
    done = set_ration(request.actor, dog_id, form.chosen(), now=now)
    messages.success(request, gettext("From now on {grams} g a day.").format(grams=round(done.daily_g)))
    return redirect("ration", dog_id=dog_id)


@require_POST
def move(request: HttpRequest, dog_id: UUID) -> HttpResponse:
    """Take over the week's move of the ration."""
    request.actor.require_write()
    form = MoveForm(request.POST)
    seen_g = form.cleaned_data["from_g"] if form.is_valid() else None
    done = move_ration_on(request.actor, dog_id, from_g=seen_g or 0.0, now=clock.now())
    messages.success(request, gettext("From now on {grams} g a day.").format(grams=round(done.daily_g)))
    return redirect("ration", dog_id=dog_id)


@require_POST
def likes(request: HttpRequest, dog_id: UUID) -> HttpResponse:
    """Write what a dog likes best."""
    request.actor.require_write()
    now = clock.now()
    page = read_ration(request.actor, dog_id, now=now)
    form = LikesForm(request.POST, rewards=page.rewards)
    if not form.is_valid():
        raise InvalidInput.of("likes", "A rank is a whole number: 1 for what it likes best, then 2, 3 and on.")
    rank_reinforcers(request.actor, dog_id, form.ranks(), now=now)
    messages.success(request, gettext("What it likes best is kept."))
    return redirect("ration", dog_id=dog_id)


@require_GET
def eaten(request: HttpRequest) -> HttpResponse:
    """Show whom to call and, once asked, what is described at such a dose. The fixed words stand there always."""
    page = read_eaten(request.actor, now=clock.now())
    form = EatenForm(request.GET if "what" in request.GET else None, dogs=page.dogs, unit=request.actor.weight_unit)
    answer = None
    if form.is_bound and form.is_valid():
        try:
            answer = answer_eaten(request.actor, form.question())
        except InvalidInput as error:
            add_problems(form, error, {"weight_kg": "weight"})
    context = {"page": page, "form": form, "answer": answer, "call_now": CALL_NOW, "no_salt": NO_SALT}
    return render(request, "pupilage/eaten.html", context, status=400 if form.errors else 200)
