"""Writing down an incident."""

from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext
from django.views.decorators.http import require_http_methods

from pupilage.core.errors import InvalidInput
from pupilage.services.log_incident import log_incident
from pupilage.services.read_catalogue import read_catalogue
from pupilage.services.read_dog import read_dog
from pupilage.web import clock
from pupilage.web.forms.care import IncidentForm
from pupilage.web.forms.problems import add_problems


@require_http_methods(["GET", "POST"])
def incident(request: HttpRequest, dog_id: UUID) -> HttpResponse:
    """Show the form; on POST write the incident."""
    now = clock.now()
    page = read_dog(request.actor, dog_id, now=now)
    unwanted = read_catalogue().unwanted
    form = IncidentForm(
        request.POST if request.method == "POST" else None,
        initial={"at": timezone.localtime(now)},
        unwanted=unwanted.values(),
    )
    if request.method == "POST":
        request.actor.require_write()
        if form.is_valid():
            try:
                log_incident(request.actor, dog_id, form.entry(), now=now)
            except InvalidInput as error:
                add_problems(form, error)
            else:
                messages.success(request, gettext("Written down."))
                return redirect("care", dog_id=dog_id)
    context = {"page": page, "form": form, "unwanted": unwanted.values()}
    return render(request, "pupilage/incident.html", context, status=400 if form.is_bound else 200)
