"""Incidents as a sheet: taken out, and brought in."""

from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext, ngettext
from django.views.decorators.http import require_http_methods

from pupilage.core.errors import InvalidInput
from pupilage.core.sheets.incident_rows import COLUMNS
from pupilage.reports.incident_sheet import write_incident_sheet
from pupilage.services.import_incidents import ImportedIncidents, import_incidents
from pupilage.services.read_dog import read_dog
from pupilage.services.read_incidents import read_incident_record
from pupilage.web import clock
from pupilage.web.forms.incident_sheet import IncidentSheetForm
from pupilage.web.incident_words import BEFORE_WORDS
from pupilage.web.words import said


@require_http_methods(["GET", "POST"])
def incident_sheet(request: HttpRequest, dog_id: UUID) -> HttpResponse:
    """Show how a sheet is written; with ?csv give the record as one; on POST bring one in."""
    if request.method == "GET" and "csv" in request.GET:
        return _file(write_incident_sheet(read_incident_record(request.actor, dog_id)))
    page = read_dog(request.actor, dog_id, now=clock.now()).dog
    form = IncidentSheetForm()
    problems: list[str] = []
    if request.method == "POST":
        request.actor.require_write()
        form = IncidentSheetForm(request.POST, request.FILES)
        if form.is_valid():
            try:
                done = import_incidents(request.actor, dog_id, form.content(), now=clock.now())
            except InvalidInput as error:
                problems = [_problem(one.where, said(one.sentence)) for one in error.problems]
            else:
                _say(request, done)
                return redirect("incidents", dog_id=dog_id)
    context: dict[str, Any] = {
        "page": page,
        "form": form,
        "problems": problems,
        "columns": COLUMNS,
        "before": [(before.value, words) for before, words in BEFORE_WORDS.items()],
    }
    return render(request, "pupilage/incident_sheet.html", context, status=400 if form.is_bound else 200)


def _problem(where: str, words: str) -> str:
    return f"{where}: {words}" if where else words


def _say(request: HttpRequest, done: ImportedIncidents) -> None:
    added = ngettext("{n} incident brought in.", "{n} incidents brought in.", done.n_added).format(n=done.n_added)
    messages.success(request, added)
    if done.n_known:
        known = ngettext(
            "{n} row was stored already, and was left as it is.",
            "{n} rows were stored already, and were left as they are.",
            done.n_known,
        )
        messages.success(request, known.format(n=done.n_known))
    for row, note in done.notes:
        messages.success(request, gettext("Row {row}: {note}").format(row=row, note=said(note)))


def _file(text: str) -> HttpResponse:
    answer = HttpResponse(text, content_type="text/csv; charset=utf-8")
    answer["Content-Disposition"] = 'attachment; filename="incidents.csv"'
    return answer
