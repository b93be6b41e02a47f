"""The report for a veterinarian or a behaviourist: read on the page, and given as a file."""

from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.text import slugify
from django.views.decorators.http import require_http_methods

from pupilage.core.errors import InvalidInput
from pupilage.reports.vet_report.contents import ReportContents, write_report
from pupilage.services.gather_vet_report import gather_vet_report, usual_period
from pupilage.services.make_vet_report import make_vet_report
from pupilage.web import clock
from pupilage.web.forms.problems import add_problems
from pupilage.web.forms.vet_report import VetReportForm


@require_http_methods(["GET", "POST"])
def vet_report(request: HttpRequest, dog_id: UUID) -> HttpResponse:
    """Show what the report says; on POST give it as a file. No transaction is open while it is typeset."""
    now = clock.now()
    usual = usual_period(request.actor, dog_id, now=now)
    if request.method == "POST":
        request.actor.require_write()
        form = VetReportForm(request.POST)
        answer = _file(request, dog_id, form)
        if answer is not None:
            return answer
    else:
        form = VetReportForm(request.GET) if "first" in request.GET else VetReportForm.usual(request.actor, usual)
    contents = _contents(request, dog_id, form)
    status = 200 if contents is not None else 422
    shown = {"form": form, "contents": contents, "dog_id": dog_id}
    return render(request, "pupilage/vet_report.html", shown, status=status)


def _contents(request: HttpRequest, dog_id: UUID, form: VetReportForm) -> ReportContents | None:
    """Return what the page shows, None where the form cannot be used."""
    if form.is_valid():
        try:
            period = form.period()
        except InvalidInput as error:
            add_problems(form, error)
        else:
            facts = gather_vet_report(request.actor, dog_id, period, left_out=form.left_out(), now=clock.now())
            return write_report(facts, form.options())
    return None


def _file(request: HttpRequest, dog_id: UUID, form: VetReportForm) -> HttpResponse | None:
    if not form.is_valid():
        return None
    try:
        period = form.period()
    except InvalidInput:
        return None  # said by the page, which asks for the period again
    made = make_vet_report(request.actor, dog_id, period, form.options(), left_out=form.left_out(), now=clock.now())
    name = f"{slugify(made.contents.data['dog']) or 'dog'}-record-{form.options().language.value}.pdf"
    return HttpResponse(
        made.pdf,
        content_type="application/pdf",
        headers={"Content-Disposition": f'attachment; filename="{name}"', "Cache-Control": "no-store"},
    )
