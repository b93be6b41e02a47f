"""Two people's codings of a session: coding it blind, and how far they agree."""

from uuid import UUID

from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import render
from django.utils.translation import gettext
from django.views.decorators.cache import never_cache
from django.views.decorators.csrf import ensure_csrf_cookie
from django.views.decorators.http import require_GET, require_POST

from pupilage.core.evaluation.talking_over import say_agreement, say_kappa
from pupilage.core.training.record.evidence import Outcome
from pupilage.reports.charts.codings import draw_codings
from pupilage.services.compare_codings import OWN_LOG, AgreementPage, compare_session_codings
from pupilage.services.keep_coding import Subject, keep_coding
from pupilage.services.read_owner import read_owner
from pupilage.services.read_session_to_code import read_session_to_code
from pupilage.web import clock
from pupilage.web.coding_rows import code_rows, code_words, differing_rows
from pupilage.web.entry_bodies import CodingBody, body_of
from pupilage.web.forms.agreement import TermsForm
from pupilage.web.kept_words import coding_words
from pupilage.web.sync.views import answers_json


@require_GET
@never_cache
@ensure_csrf_cookie
def code(request: HttpRequest, session_id: UUID) -> HttpResponse:
    """Show the page on which a second person codes a session; nothing of its record stands on it."""
    context = {
        "session": read_session_to_code(request.actor, session_id),
        "outcomes": list(Outcome),
        "page_words": coding_words(),
        "owner": read_owner(request.actor),
    }
    return render(request, "pupilage/code_session.html", context)


@require_POST
@never_cache
@answers_json
def keep(request: HttpRequest, session_id: UUID) -> JsonResponse:
    """Store taps of a coding and name those that are stored."""
    request.actor.require_write()
    read_session_to_code(request.actor, session_id)
    given = body_of(CodingBody, request.body).given()
    kept = keep_coding(request.actor, Subject(session_id=session_id), given, now=clock.now())
    return JsonResponse({"kept": list(kept)})


@require_GET
def agreement(request: HttpRequest, session_id: UUID) -> HttpResponse:
    """Show how far two codings of a session agree, and what there is to talk over."""
    sides, terms, wrong = TermsForm.read(request.GET)
    page = compare_session_codings(request.actor, session_id, sides, terms, log_name=gettext("The log"))
    found = page.comparison
    initial = {**vars(terms), "one": page.one, "other": page.other}
    context = {
        "page": page,
        "form": TermsForm(initial=initial, sides=_sides(page)),
        "wrong": [message for messages in wrong.values() for message in messages],
    }
    if found is not None:
        context |= {
            "found": found,
            "says": list(say_agreement(found)),
            "says_kappa": list(say_kappa(found)),
            "differing": differing_rows(found),
            "codes": code_rows(found),
            "outside": [(who, mark.time_s, code_words(mark.code)) for who, mark in found.outside],
            "drawing": draw_codings(found),
        }
    return render(request, "pupilage/agreement.html", context)


def _sides(page: AgreementPage) -> list[tuple[str, str]]:
    """Return the codings to choose from; two of one person are told apart by their number of marks."""
    return [
        (side.id, side.coding.observer if side.id == OWN_LOG else f"{side.coding.observer} ({len(side.coding.marks)})")
        for side in page.codings
    ]
