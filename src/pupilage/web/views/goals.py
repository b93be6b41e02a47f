"""Choosing goals."""

from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext
from django.views.decorators.http import require_http_methods

from pupilage.services.read_goals import read_goals
from pupilage.services.set_goals import set_goals
from pupilage.web import clock
from pupilage.web.forms.goals import GoalsForm


@require_http_methods(["GET", "POST"])
def goals(request: HttpRequest, programme_id: UUID) -> HttpResponse:
    """Show every behaviour with a tick; on POST make the ticked ones the goals."""
    now = clock.now()
    page = read_goals(request.actor, programme_id, now=now)
    form = GoalsForm(request.POST if request.method == "POST" else None, lines=page.lines)
    if request.method == "POST":
        request.actor.require_write()
        if form.is_valid():
            set_goals(request.actor, programme_id, form.choices(), now=now)
            messages.success(request, gettext("The goals are set."))
            return redirect("today") if page.proposed else redirect("programme", programme_id=programme_id)
    context = {"page": page, "form": form}
    return render(request, "pupilage/goals.html", context, status=400 if form.is_bound else 200)
