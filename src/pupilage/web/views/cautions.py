"""The cautions, in one place."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET


@require_GET
def cautions(request: HttpRequest) -> HttpResponse:
    """Show the cautions."""
    return render(request, "pupilage/cautions.html")
