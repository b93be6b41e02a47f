"""Every refusal becomes a page that says what is wrong and what to do; each kind has its HTTP status here."""

from collections.abc import Callable

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django_htmx.http import HttpResponseClientRedirect

from pupilage.core.errors import PupilageError
from pupilage.storage.database import find_database_file
from pupilage.storage.troubles import explain
from pupilage.web.words import said_problems

STATUS_OF = {"invalid": 400, "forbidden": 403, "not-found": 404, "conflict": 409, "not-enough": 409, "storage": 507}


class FailureMiddleware:
    """Turns Pupilage's own errors into a page, or into a few lines where only a part of a page was asked for.

    A redirect (such as to the sign-in) takes the whole page along, never only the part.
    """

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        response = self.get_response(request)
        if request.htmx and response.status_code == 302:
            return HttpResponseClientRedirect(response["Location"])
        return response

    def process_exception(self, request: HttpRequest, error: Exception) -> HttpResponse | None:
        refusal = refusal_of(error)
        if refusal is None:
            return None
        template = "pupilage/parts/failure.html" if request.htmx else "pupilage/failure.html"
        context = {"sentences": said_problems(refusal)}
        return render(request, template, context, status=STATUS_OF.get(refusal.code, 400))


def refusal_of(error: Exception) -> PupilageError | None:
    """Return what the disk, the database or a rule refused, or None when the fault is our own."""
    return error if isinstance(error, PupilageError) else explain(error, find_database_file() or "")
