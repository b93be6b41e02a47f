"""The tabs at the foot of every page: each goes to its page for the stay that runs today."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.views.decorators.http import require_GET

from pupilage.services.read_programme import find_current_head
from pupilage.web import clock


@require_GET
def train(request: HttpRequest) -> HttpResponse:
    """Go to the card for the next session."""
    return _to_stay(request, "session-card")


@require_GET
def log(request: HttpRequest) -> HttpResponse:
    """Go to the pup's care log."""
    return _to_dog(request, "care")


@require_GET
def goals(request: HttpRequest) -> HttpResponse:
    """Go to the stay with its goals."""
    return _to_stay(request, "programme")


@require_GET
def pup(request: HttpRequest) -> HttpResponse:
    """Go to the pup's page."""
    return _to_dog(request, "dog")


@require_GET
def alone(request: HttpRequest) -> HttpResponse:
    """Go to the pup's time alone."""
    return _to_dog(request, "alone")


def _to_stay(request: HttpRequest, name: str) -> HttpResponse:
    head = find_current_head(request.actor, now=clock.now())
    return redirect("start") if head is None else redirect(name, programme_id=head.id)


def _to_dog(request: HttpRequest, name: str) -> HttpResponse:
    head = find_current_head(request.actor, now=clock.now())
    return redirect("start") if head is None else redirect(name, dog_id=head.dog_id)
