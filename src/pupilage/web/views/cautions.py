"""The cautions, in one place."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET

from pupilage.core.care.food.doses import CALL_NOW
from pupilage.core.care.food.unsafe import Level, list_unsafe_foods
from pupilage.services.read_workspace import read_workspace


@require_GET
def cautions(request: HttpRequest) -> HttpResponse:
    """Show the cautions."""
    workspace = read_workspace(request.actor)
    context = {
        "call_now": CALL_NOW,
        "vet_phone": workspace.vet_phone,
        "poison_phone": workspace.poison_phone,
        "unsafe": [food for food in list_unsafe_foods() if food.level is Level.NEVER],
    }
    return render(request, "pupilage/cautions.html", context)
