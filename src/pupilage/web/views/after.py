"""The weeks after a hand-over: what was kept, who needs a call, follow-ups, what was told; and the lesson before."""

from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from pupilage.core.errors import InvalidInput
from pupilage.reports.charts.kept import draw_kept
from pupilage.reports.family.tongue import FamilyTongue
from pupilage.reports.pack.options import Language
from pupilage.services.log_family_entry import log_told_entry
from pupilage.services.read_after_handover import list_families_to_call, note_family_call, read_after_handover
from pupilage.services.read_catalogue import read_catalogue
from pupilage.services.read_lesson import Tick, change_lesson_item, read_lesson, say_who_is_family
from pupilage.web import clock
from pupilage.web.family_rows import entry_row
from pupilage.web.forms.family import FamilyTapForm
from pupilage.web.words import said_problems

SHOWN_AT_ONCE = 8
"""Of what a family wrote, so many entries stand open; the others are folded."""


@require_safe
def families(request: HttpRequest) -> HttpResponse:
    """Show who needs a call."""
    rows = list_families_to_call(request.actor, now=clock.now())
    return render(request, "pupilage/families.html", {"rows": rows, "names": _names()})


@require_safe
def after(request: HttpRequest, programme_id: UUID) -> HttpResponse:
    """Show a stay's weeks after the hand-over."""
    return _after(request, programme_id)


@require_POST
def after_told(request: HttpRequest, programme_id: UUID) -> HttpResponse:
    """Write what the family told on the telephone."""
    now = clock.now()
    read_after_handover(request.actor, programme_id, now=now)
    request.actor.require_write()
    try:
        log_told_entry(request.actor, programme_id, FamilyTapForm(request.POST).tap(now), now=now)
    except InvalidInput as error:
        return _after(request, programme_id, status=422, problems=said_problems(error), typed=request.POST)
    messages.success(request, gettext("Written down as told by the family."))
    return redirect("after", programme_id=programme_id)


@require_POST
def after_call(request: HttpRequest, programme_id: UUID) -> HttpResponse:
    """Write that the family was called."""
    now, words = clock.now(), request.POST.get("words", "")
    read_after_handover(request.actor, programme_id, now=now)
    request.actor.require_write()
    try:
        note_family_call(request.actor, programme_id, words, now=now)
    except InvalidInput as error:
        return _after(request, programme_id, status=422, problems=said_problems(error), call_words=words)
    messages.success(request, gettext("The call is written down."))
    return redirect("after", programme_id=programme_id)


@require_http_methods(["GET", "HEAD", "POST"])
def lesson(request: HttpRequest, programme_id: UUID) -> HttpResponse:
    """Show the family's lesson; on POST change a line of the list, or who is family."""
    now = clock.now()
    page = read_lesson(request.actor, programme_id, now=now)
    if request.method != "POST":
        return render(request, "pupilage/lesson.html", {"page": page})
    request.actor.require_write()
    if "who" in request.POST:
        say_who_is_family(request.actor, programme_id, request.POST.getlist("name"), now=now)
        return redirect("lesson", programme_id=programme_id)
    try:
        change_lesson_item(request.actor, programme_id, _tick(request.POST), now=now)
    except InvalidInput as error:
        context = {"page": page, "problems": said_problems(error), "typed": request.POST}
        return render(request, "pupilage/lesson.html", context, status=422)
    return redirect("lesson", programme_id=programme_id)


def _tick(given: Any) -> Tick:
    """Return what was pressed: `do` is done, undone, out or add."""
    pressed = given.get("do", "")
    try:
        item_id = UUID(given["item"]) if given.get("item") else None
    except ValueError:
        item_id = UUID(int=0)
    return Tick(
        key=given.get("key", "")[:80],
        item_id=item_id,
        words=given.get("words", ""),
        by=given.get("by", ""),
        done={"done": True, "undone": False}.get(pressed),
        left_out=True if pressed == "out" else None,
    )


def _names() -> dict[str, str]:
    """Return what every behaviour of the catalogue is called, wanted or not."""
    catalogue = read_catalogue()
    return {
        **{key: one.name for key, one in catalogue.behaviours.items()},
        **{key: one.name for key, one in catalogue.unwanted.items()},
    }


def _after(request: HttpRequest, programme_id: UUID, *, status: int = 200, **given: Any) -> HttpResponse:
    page = read_after_handover(request.actor, programme_id, now=clock.now())
    english = FamilyTongue(Language.EN)
    drawn = [(one, draw_kept(one.behaviour.name, one.curve)) for one in page.lines if one.curve is not None]
    context = {
        "page": page,
        "charts": {one.behaviour.key: chart for one, chart in drawn if chart is not None},
        "rows": [(entry_row(english, one), one) for one in page.entries],
        "unwanted": read_catalogue().unwanted.values(),
        "names": _names(),
        "shown_at_once": SHOWN_AT_ONCE,
        "fewer": -SHOWN_AT_ONCE,
        **given,
    }
    return render(request, "pupilage/after.html", context, status=status)
