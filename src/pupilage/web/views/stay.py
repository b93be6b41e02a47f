"""Changing the dates of a stay."""

from dataclasses import asdict
from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext
from django.views.decorators.http import require_http_methods

from pupilage.core.errors import InvalidInput
from pupilage.services.change_stay import change_stay
from pupilage.services.read_programme import read_head
from pupilage.web import clock
from pupilage.web.forms.problems import add_problems
from pupilage.web.forms.stay import StayForm


@require_http_methods(["GET", "POST"])
def stay(request: HttpRequest, programme_id: UUID) -> HttpResponse:
    """Show the dates of a stay; on POST change them."""
    now = clock.now()
    head = read_head(request.actor, programme_id, now=now)
    initial = {**asdict(head), "outing_risk": round(100 * head.outing_risk)}
    form = StayForm(request.POST if request.method == "POST" else None, initial=initial, label_suffix="")
    if request.method == "POST":
        request.actor.require_write()
        if form.is_valid():
            try:
                change_stay(request.actor, programme_id, form.stay(), now=now)
            except InvalidInput as error:
                add_problems(form, error)
            else:
                messages.success(request, gettext("The stay is changed."))
                return redirect("programme", programme_id=programme_id)
    context = {"head": head, "form": form}
    return render(request, "pupilage/stay.html", context, status=400 if form.is_bound else 200)
