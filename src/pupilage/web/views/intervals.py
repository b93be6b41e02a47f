"""Paid stretches: starting a run, its timer, and what the earlier ones showed."""

from typing import Any
from uuid import UUID

from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import redirect, render
from django.views.decorators.cache import never_cache
from django.views.decorators.csrf import ensure_csrf_cookie
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from pupilage.core.errors import InvalidInput
from pupilage.core.incidents import intervals as rule
from pupilage.core.incidents.interval_runs import (
    EARLY_S,
    TERMS,
    interval_list,
    least_interval_s,
    multiples,
)
from pupilage.services.read_interval_runs import RunPage, RunsPage, read_interval_run, read_interval_runs
from pupilage.services.read_owner import read_owner
from pupilage.services.record_run_events import record_run_events
from pupilage.services.start_interval_run import start_interval_run
from pupilage.web import clock
from pupilage.web.entry_bodies import RunBody, body_of
from pupilage.web.forms.interval_run import RunForm
from pupilage.web.forms.problems import add_problems
from pupilage.web.kept_words import timer_words
from pupilage.web.sync.views import answers_json

BLOCKS = 20
"""Shuffled lists that a page takes along: 240 stretches, more than any run has."""


@require_http_methods(["GET", "POST"])
def intervals(request: HttpRequest, dog_id: UUID) -> HttpResponse:
    """Show what a run could start from and the earlier ones; on POST start one and go to its timer."""
    now = clock.now()
    asked = request.POST.get("target") or request.GET.get("target", "")
    page = read_interval_runs(request.actor, dog_id, target=asked, now=now)
    form = RunForm(request.POST if request.method == "POST" else None, targets=page.targets, initial=_initial(page))
    if request.method == "POST":
        request.actor.require_write()
        if form.is_valid():
            try:
                start = form.start(asked, from_log=_is_from_log(page, form))
                run_id = start_interval_run(request.actor, dog_id, start, now=now)
            except InvalidInput as error:
                add_problems(form, error)
            else:
                return redirect("interval-run", run_id=run_id)
    context = {"page": page, "form": form}
    return render(request, "pupilage/intervals.html", context, status=400 if form.is_bound else 200)


@require_GET
@never_cache
@ensure_csrf_cookie
def run(request: HttpRequest, run_id: UUID) -> HttpResponse:
    """Show a run's timer."""
    page = read_interval_run(request.actor, run_id)
    context = {
        "page": page,
        "run": _facts(page),
        "list": interval_list(page.first_mean_s),
        "page_words": timer_words(),
        "owner": read_owner(request.actor),
    }
    return render(request, "pupilage/interval_run.html", context)


@require_POST
@never_cache
@answers_json
def record(request: HttpRequest, run_id: UUID) -> JsonResponse:
    """Store taps of a run and name those that are stored."""
    request.actor.require_write()
    read_interval_run(request.actor, run_id)
    events = [one.event() for one in body_of(RunBody, request.body).entries]
    return JsonResponse({"kept": list(record_run_events(request.actor, run_id, events, now=clock.now()))})


def _initial(page: RunsPage) -> dict[str, object]:
    if page.baseline is None:
        return {}
    return {"n": page.baseline.n, "minutes": round(page.baseline.minutes)}


def _is_from_log(page: RunsPage, form: RunForm) -> bool:
    """Whether the figures sent are those of the log, unchanged."""
    return _initial(page) == {"n": form.cleaned_data["n"], "minutes": form.cleaned_data["minutes"]}


def _facts(page: RunPage) -> dict[str, Any]:
    """Return what the timer's script needs: the run, its events, and the figures of the rule."""
    return {
        "first_mean_s": page.first_mean_s,
        "terms": TERMS,
        "multiples": [multiples(page.spacing, page.seed, block) for block in range(BLOCKS)],
        "least_s": least_interval_s(page.spacing),
        "shortest_s": rule.SHORTEST_S,
        "shrink": rule.SHRINK,
        "growth": rule.GROWTH,
        "met_to_grow": rule.MET_TO_GROW,
        "early_s": EARLY_S,
        "events": [
            {
                "id": event.id,
                "kind": event.kind.value,
                "at": event.at.isoformat(),
                "mean_s": event.mean_s,
                "interval_s": event.interval_s,
                "withdraws": event.withdraws,
            }
            for event in page.events
        ],
    }
