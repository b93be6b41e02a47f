"""The tries of a stay as a sheet, taken out."""

from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.views.decorators.http import require_safe

from pupilage.services.export_trials import export_trials


@require_safe
def trial_sheet(request: HttpRequest, programme_id: UUID) -> HttpResponse:
    """Give every try of the stay as CSV, with a mark that tells a spreadsheet of its encoding."""
    content = export_trials(request.actor, programme_id).encode("utf-8-sig")
    answer = HttpResponse(content, content_type="text/csv; charset=utf-8")
    answer["Content-Disposition"] = 'attachment; filename="tries.csv"'
    return answer
