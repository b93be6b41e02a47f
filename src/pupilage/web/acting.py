"""Who acts in a request: the signed-in person's place in their workspace, language and time zone."""

from collections.abc import Callable
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone, translation

from pupilage.core.access import Actor
from pupilage.services.find_actor import find_actor
from pupilage.services.read_catalogue import list_catalogue_problems
from pupilage.web.words import said


class ActorMiddleware:
    """Sets `request.actor` for a signed-in person and activates their language and time zone.

    A view behind the sign-in is only called with an actor: a person who belongs to no workspace is told so here.
    """

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        request.actor = find_actor(request.user.pk) if request.user.is_authenticated else None
        actor: Actor | None = request.actor
        if actor is None:
            return self.get_response(request)
        with translation.override(actor.language), timezone.override(actor.zone):
            return self.get_response(request)

    def process_view(self, request: HttpRequest, view: Any, *_: Any) -> HttpResponse | None:
        if request.actor is None and getattr(view, "login_required", True):
            return render(request, "pupilage/no_workspace.html", status=403)
        return None


def page_context(request: HttpRequest) -> dict[str, Any]:
    """Return what every template may use."""
    return {"actor": getattr(request, "actor", None), "catalogue_problems": _catalogue_problems}


def _catalogue_problems() -> list[str]:
    """Return what is wrong with the trainer's own catalogue files; asked only by the pages that show it."""
    return [f"{problem.where}: {said(problem.sentence)}" for problem in list_catalogue_problems()]
