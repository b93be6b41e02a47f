"""Settings: how things are shown, and what the pup works for."""

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext
from django.views.decorators.http import require_http_methods, require_POST

from pupilage.core.errors import InvalidInput
from pupilage.services.read_session_card import list_reinforcer_cards
from pupilage.services.read_workspace import read_workspace
from pupilage.services.save_reinforcer import save_reinforcer
from pupilage.services.set_preferences import set_preferences
from pupilage.web import clock
from pupilage.web.forms.problems import add_problems
from pupilage.web.forms.settings import PreferencesForm, ReinforcerForm


@require_http_methods(["GET", "POST"])
def preferences(request: HttpRequest) -> HttpResponse:
    """Show the settings; on POST change how things are shown."""
    if request.method == "GET":
        return _page(request)
    request.actor.require_write()
    form = PreferencesForm(request.POST)
    if form.is_valid():
        try:
            set_preferences(request.actor, form.preferences(), now=clock.now())
        except InvalidInput as error:
            add_problems(form, error)
        else:
            messages.success(request, gettext("Settings kept."))
            return redirect("settings")
    return _page(request, form=form)


@require_POST
def reinforcer(request: HttpRequest) -> HttpResponse:
    """Add a reinforcer, or change the one of this name."""
    request.actor.require_write()
    form = ReinforcerForm(request.POST)
    if form.is_valid():
        try:
            save_reinforcer(request.actor, form.entry(), now=clock.now())
        except InvalidInput as error:
            add_problems(form, error)
        else:
            messages.success(request, gettext("The list of reinforcers is kept."))
            return redirect("settings")
    return _page(request, reinforcer_form=form)


def _page(request: HttpRequest, form: Any = None, reinforcer_form: Any = None) -> HttpResponse:
    workspace = read_workspace(request.actor)
    context = {
        "workspace": workspace,
        "form": form or PreferencesForm(initial=vars(workspace)),
        "reinforcer_form": reinforcer_form or ReinforcerForm(),
        "reinforcers": list_reinforcer_cards(request.actor),
    }
    wrong = form is not None or reinforcer_form is not None
    return render(request, "pupilage/settings.html", context, status=400 if wrong else 200)
