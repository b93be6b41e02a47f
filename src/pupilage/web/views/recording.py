"""One recording: checking what was heard, letting its tries count, its events as files."""

from collections.abc import Iterator
from datetime import datetime
from itertools import groupby
from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import redirect, render
from django.template.loader import render_to_string
from django.utils.http import content_disposition_header
from django.utils.translation import gettext, ngettext
from django.views.decorators.cache import never_cache
from django.views.decorators.csrf import ensure_csrf_cookie
from django.views.decorators.http import require_GET, require_POST

from pupilage.core.access import Actor
from pupilage.core.errors import InvalidInput, NotFound
from pupilage.services.bring_recording import CAPTIONS
from pupilage.services.correct_recording import correct_recording
from pupilage.services.count_recording import Counted, count_recording
from pupilage.services.export_recording import FileFormat, export_recording
from pupilage.services.hear_absence import hear_absence, read_home
from pupilage.services.judge_recording import add_event, judge_events, take_judgement_back
from pupilage.services.read_owner import read_owner
from pupilage.services.read_recording import RecordingPage, read_recording
from pupilage.services.read_recordings import read_recording_line
from pupilage.web import clock
from pupilage.web.entry_bodies import body_of
from pupilage.web.review_bodies import ReviewBody, ReviewEntry, What
from pupilage.web.review_state import agreement_lines, figure_lines, review_state, review_words
from pupilage.web.sync.views import answers_json
from pupilage.web.words import said, said_problems

LARGEST_BYTES = 10 << 20


@require_GET
@never_cache
@ensure_csrf_cookie
def recording(request: HttpRequest, recording_id: UUID) -> HttpResponse:
    """Show what was heard, and ask about it."""
    page = read_recording(request.actor, recording_id)
    context = {
        **_amounts(page),
        "home": read_home(request.actor, recording_id),
        "state": review_state(page),
        "page_words": review_words(),
        "owner": read_owner(request.actor),
        "has_player": page.line.has_file and not page.line.file_name.casefold().endswith(CAPTIONS),
        "is_video": page.line.file_name.casefold().endswith((".mp4", ".mov", ".m4v", ".webm", ".mkv", ".3gp")),
    }
    return render(request, "pupilage/recording.html", context)


@require_GET
@never_cache
@answers_json
def amounts(request: HttpRequest, recording_id: UUID) -> JsonResponse:
    """Return what the recording amounts to now, and what is left to check."""
    page = read_recording(request.actor, recording_id)
    html = render_to_string("pupilage/parts/recording_amounts.html", _amounts(page), request)
    return JsonResponse({"html": html, "left": review_state(page)["left"]})


@require_POST
@never_cache
@answers_json
def judge(request: HttpRequest, recording_id: UUID) -> JsonResponse:
    """Store judgements, and name those that are stored; what an entry is about may be gone: then it is told."""
    read_recording_line(request.actor, recording_id)  # no such recording is the whole answer, not one entry's
    request.actor.require_write()
    entries = body_of(ReviewBody, request.body).entries
    now = clock.now()
    problems = []
    for what, group in groupby(entries, key=lambda entry: entry.what):
        problems += list(_store(request.actor, recording_id, what, list(group), now))
    return JsonResponse({"kept": [str(entry.id) for entry in entries], "problems": problems})


@require_POST
def absence(request: HttpRequest, recording_id: UUID) -> HttpResponse:
    """Let the bouts of a recording be the signs of an absence."""
    line = read_recording_line(request.actor, recording_id)
    request.actor.require_write()
    try:
        hear_absence(request.actor, recording_id, UUID(request.POST.get("absence", "")), now=clock.now())
    except ValueError as error:
        raise InvalidInput.of("absence", "No absence was chosen; choose one of the list.") from error
    messages.success(request, gettext("Its bouts are signs of that absence now."))
    return redirect("alone", dog_id=line.dog_id)


@require_POST
def count(request: HttpRequest, recording_id: UUID) -> HttpResponse:
    """Let the checked tries count."""
    steps = {name.removeprefix("step-"): step for name, step in request.POST.items() if name.startswith("step-")}
    began_at = _moment(request.actor, request.POST.get("began_at", ""))
    try:
        counted = count_recording(
            request.actor, recording_id, {k: str(v) for k, v in steps.items()}, now=clock.now(), began_at=began_at
        )
    except InvalidInput as error:
        for problem in said_problems(error):
            messages.error(request, problem)
    else:
        for line in _said_counted(counted):
            messages.success(request, line)
    return redirect("recording", recording_id=recording_id)


@require_POST
def correct(request: HttpRequest, recording_id: UUID) -> HttpResponse:
    """Take over a WebVTT file of events that was corrected elsewhere."""
    read_recording_line(request.actor, recording_id)
    request.actor.require_write()
    sent = request.FILES.get("events")
    if sent is None:
        raise InvalidInput.of("events", "No file was chosen; choose a WebVTT file of this recording's events.")
    found = correct_recording(request.actor, recording_id, sent.read(LARGEST_BYTES + 1), now=clock.now())
    told = gettext("Taken over: {changed} events put right, {added} added.")
    messages.success(request, told.format(changed=found.n_judged, added=found.n_added))
    for warning in found.warnings:
        messages.warning(request, said(warning))
    return redirect("recording", recording_id=recording_id)


@require_GET
def file(request: HttpRequest, recording_id: UUID) -> HttpResponse:
    """Hand out the events as a file."""
    wanted = request.GET.get("format", FileFormat.VTT.value)
    known = [one.value for one in FileFormat]
    if wanted not in known:
        read_recording_line(request.actor, recording_id)
        raise InvalidInput.of("format", "“{given}” is no format; choose {known}.", given=wanted, known=", ".join(known))
    found = export_recording(request.actor, recording_id, FileFormat(wanted))
    answer = HttpResponse(found.content, content_type=found.content_type)
    answer["Content-Disposition"] = content_disposition_header(as_attachment=True, filename=found.name) or "attachment"
    return answer


def _amounts(page: RecordingPage) -> dict[str, object]:
    return {"page": page, "figures": figure_lines(page.figures), "agreements": agreement_lines(page.beside)}


def _store(actor: Actor, recording_id: UUID, what: What, entries: list[ReviewEntry], now: datetime) -> Iterator[str]:
    """Store entries of one kind, all at once where that goes, else one by one; yield why one does not go."""
    if what is What.JUDGE:
        try:
            judge_events(actor, recording_id, [entry.judgement() for entry in entries], now=now)
            return
        except (NotFound, InvalidInput):
            pass  # one of them does not go; the others must
    for entry in entries:
        try:
            _store_one(actor, recording_id, entry, now)
        except (NotFound, InvalidInput) as error:
            yield from said_problems(error)


def _store_one(actor: Actor, recording_id: UUID, entry: ReviewEntry, now: datetime) -> None:
    match entry.what:
        case What.JUDGE:
            judge_events(actor, recording_id, [entry.judgement()], now=now)
        case What.ADD:
            add_event(actor, recording_id, entry.added(), now=now)
        case What.BACK:
            if entry.takes is not None:
                take_judgement_back(actor, recording_id, now=now, judgement_id=entry.takes)


def _moment(actor: Actor, text: str) -> datetime | None:
    if not text:
        return None
    try:
        moment = datetime.fromisoformat(text)
    except ValueError as error:
        raise InvalidInput.of("began_at", "“{given}” is no date and time.", given=text[:40]) from error
    return moment if moment.tzinfo else moment.replace(tzinfo=actor.zone)


def _said_counted(counted: Counted) -> Iterator[str]:
    written = sum(one.n_written for one in counted.behaviours)
    both = sum(one.n_both for one in counted.behaviours)
    total = sum(one.n_trials for one in counted.behaviours)
    yield ngettext("{n} try counts; {new} written down now.", "{n} tries count; {new} written down now.", total).format(
        n=total, new=written
    )
    if both:
        told = ngettext(
            "{n} had been tapped live and is not written twice.",
            "{n} had been tapped live and are not written twice.",
            both,
        )
        yield told.format(n=both)
    if counted.n_unsettled or counted.n_unanswered:
        left = gettext("Left out: {unsettled} not checked whole, {unanswered} without what the pup did.")
        yield left.format(unsettled=counted.n_unsettled, unanswered=counted.n_unanswered)
    if counted.unasked:
        left = ngettext(
            "Left out: {n} try of {words}, which asks for nothing of the catalogue. Say on the voice's page what it "
            "asks for, and let them count again.",
            "Left out: {n} tries of {words}, which ask for nothing of the catalogue. Say on the voice's page what they "
            "ask for, and let them count again.",
            len(counted.unasked),
        )
        words = ", ".join(f"“{label}”" for label in dict.fromkeys(counted.unasked))
        yield left.format(n=len(counted.unasked), words=words)
    for one in counted.behaviours:
        yield from map(said, one.sentences)
