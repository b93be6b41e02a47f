"""One unwanted behaviour's plan: made, changed, ended, and what became of it."""

from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext
from django.views.decorators.http import require_http_methods, require_POST

from pupilage.core.errors import InvalidInput, NotFound
from pupilage.reports.charts.plan import draw_plan
from pupilage.services.add_goal import add_goal
from pupilage.services.read_change_plan import ChangePlanPage, read_change_plan
from pupilage.services.save_change_plan import save_change_plan, take_change_plan_back
from pupilage.web import clock
from pupilage.web.forms.change_plan import ChangePlanForm, EndPlanForm
from pupilage.web.forms.problems import add_problems


@require_http_methods(["GET", "POST"])
def change_plan(request: HttpRequest, dog_id: UUID, behaviour: str) -> HttpResponse:
    """Show a plan and what became of it; on POST make it, or change it from a day on."""
    page = read_change_plan(request.actor, dog_id, behaviour, now=clock.now())
    form = ChangePlanForm(request.POST if request.method == "POST" else None, page=page)
    if request.method == "POST" and _is_saved(request, page, form, {}):
        messages.success(request, gettext("The plan is written down."))
        return redirect("change-plan", dog_id=dog_id, behaviour=behaviour)
    return _shown(request, page, form=form)


@require_POST
def end(request: HttpRequest, dog_id: UUID, behaviour: str) -> HttpResponse:
    """End a plan on a day."""
    page = read_change_plan(request.actor, dog_id, behaviour, now=clock.now())
    form = EndPlanForm(request.POST, page=page)
    if _is_saved(request, page, form, {"starts_on": "ends_on"}):
        messages.success(request, gettext("The plan is ended; its days stay to compare with."))
        return redirect("change-plan", dog_id=dog_id, behaviour=behaviour)
    return _shown(request, page, ending=form)


@require_POST
def take_back(request: HttpRequest, plan_id: UUID) -> HttpResponse:
    """Take a phase back."""
    dog_id, behaviour = take_change_plan_back(request.actor, plan_id, now=clock.now())
    messages.success(request, gettext("Taken back."))
    return redirect("change-plan", dog_id=dog_id, behaviour=behaviour)


@require_POST
def goal(request: HttpRequest, dog_id: UUID, behaviour: str) -> HttpResponse:
    """Make what it does instead a goal of the stay."""
    page = read_change_plan(request.actor, dog_id, behaviour, now=clock.now())
    request.actor.require_write()
    if page.programme_id is None or page.replacement is None:
        raise NotFound("There is no stay, or nothing to teach instead; choose a goal on the page of goals.")
    add_goal(request.actor, page.programme_id, page.replacement.key, now=clock.now())
    messages.success(request, gettext("It is a goal of this stay now."))
    return redirect("change-plan", dog_id=dog_id, behaviour=behaviour)


def _is_saved(
    request: HttpRequest, page: ChangePlanPage, form: ChangePlanForm | EndPlanForm, fields: dict[str, str]
) -> bool:
    """Store what the form says; where that is refused, say so beside the fields."""
    request.actor.require_write()
    if not form.is_valid():
        return False
    try:
        save_change_plan(request.actor, page.dog_id, form.entry(), now=clock.now())
    except InvalidInput as error:
        add_problems(form, error, {"arrange": "lines", **fields})
        return False
    return True


def _shown(
    request: HttpRequest, page: ChangePlanPage, *, form: ChangePlanForm | None = None, ending: EndPlanForm | None = None
) -> HttpResponse:
    context: dict[str, Any] = {
        "page": page,
        "answers": page.answers,
        "drawing": draw_plan(page.answers),
        "form": form or ChangePlanForm(page=page),
        "ending": ending or EndPlanForm(page=page),
    }
    is_refused = any(one is not None and one.is_bound for one in (form, ending))
    return render(request, "pupilage/change_plan.html", context, status=400 if is_refused else 200)
