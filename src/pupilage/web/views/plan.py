"""The plan of a stay: the next days, the goals with their chances, and what if it were otherwise."""

from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext
from django.views.decorators.http import require_http_methods

from pupilage.core.clock import local_day
from pupilage.core.errors import InvalidInput
from pupilage.services.accept_wish import accept_wish
from pupilage.services.compare_programme_plans import compare_programme_plans
from pupilage.services.plan_programme import plan_programme
from pupilage.services.read_catalogue import read_catalogue
from pupilage.services.read_plan import KeptPlan, PlanPage, read_plan
from pupilage.web import clock, plan_words
from pupilage.web.forms.problems import add_problems
from pupilage.web.forms.what_if import WhatIfForm

DAYS_SHOWN = 7


@require_http_methods(["GET", "POST"])
def plan(request: HttpRequest, programme_id: UUID) -> HttpResponse:
    """Show the plan that is kept; on POST make it anew."""
    now = clock.now()
    if request.method == "POST":
        _tell(request, plan_programme(request.actor, programme_id, now=now))
        return redirect("plan", programme_id=programme_id)
    page, catalogue = read_plan(request.actor, programme_id, now=now), read_catalogue()
    context: dict[str, Any] = {"page": page, "form": _form(page, None)}
    if page.kept.plan is not None:
        today = local_day(now, request.actor.zone)
        context |= {
            "days": plan_words.days_in_words(page.kept.plan, catalogue, first=today, n_days=DAYS_SHOWN),
            "goals": plan_words.goals_in_words(page.kept.plan, catalogue),
            "reliefs": plan_words.reliefs_in_words(page.kept.plan, catalogue)[:1],
        }
    return render(request, "pupilage/plan.html", context)


@require_http_methods(["GET", "POST"])
def what_if(request: HttpRequest, programme_id: UUID) -> HttpResponse:
    """Show the plan as it is and as it would be; on POST take the wish up."""
    now = clock.now()
    page, catalogue = read_plan(request.actor, programme_id, now=now), read_catalogue()
    if request.method == "POST":
        request.actor.require_write()
    form = _form(page, request.POST if request.method == "POST" else request.GET)
    context: dict[str, Any] = {"page": page, "form": form}
    if form.is_valid():
        try:
            if request.method == "POST":
                _tell(request, accept_wish(request.actor, programme_id, form.wish(), now=now))
                return redirect("plan", programme_id=programme_id)
            both = compare_programme_plans(request.actor, programme_id, form.wish(), now=now)
        except InvalidInput as error:
            add_problems(form, error)
        else:
            context |= {"both": both, "pairs": list(plan_words.pairs_in_words(both, catalogue))}
    return render(request, "pupilage/what_if.html", context, status=400 if form.errors else 200)


def _form(page: PlanPage, data: Any) -> WhatIfForm:
    initial = {
        "handover_on": page.head.handover_on,
        "sessions_a_day": page.head.sessions_a_day,
        "minutes_a_day": page.head.minutes_a_day,
        "days_off": page.head.days_off,
    }
    given = None if data is None else {**initial, "days_off": ", ".join(page.head.days_off), **data.dict()}
    return WhatIfForm(given, initial=initial, goals=page.goals, catalogue=read_catalogue())


def _tell(request: HttpRequest, kept: KeptPlan) -> None:
    if kept.trouble is None:
        messages.success(request, gettext("The plan is made."))
