"""The card before a session: what, at which step, for what, with how many pieces."""

from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods

from pupilage.core.catalogue.behaviour import Behaviour, Catalogue
from pupilage.core.errors import InvalidInput
from pupilage.core.training.record.evidence import SessionKind
from pupilage.services.read_catalogue import read_catalogue
from pupilage.services.read_reinforcers import choose_for_session
from pupilage.services.read_session_card import SessionCard, read_session_card
from pupilage.services.read_session_names import read_session_names
from pupilage.services.start_beside import find_mat_start, list_second_dogs, start_beside
from pupilage.services.start_session import start_session
from pupilage.web import clock
from pupilage.web.card_rules import card_rules
from pupilage.web.device import device_of, tz_offset_min
from pupilage.web.forms.problems import add_problems
from pupilage.web.forms.session_card import USUAL_PIECES, SessionCardForm
from pupilage.web.vet_first import signs_in_words


@require_http_methods(["GET", "POST"])
def session_card(request: HttpRequest, programme_id: UUID) -> HttpResponse:
    """Show the card with the proposal; on POST start the session and go to its screen."""
    now = clock.now()
    card = read_session_card(request.actor, programme_id, now=now)
    catalogue = read_catalogue()
    asked = request.POST.get("behaviour") or request.GET.get("behaviour", "")
    behaviour = _behaviour(asked, card, catalogue)
    initial = _initial(request, card, behaviour)
    choice = choose_for_session(request.actor, programme_id, behaviour.key, initial["step"], now=now)
    if choice is not None and choice.reinforcer is not None:
        initial["reinforcer"] = choice.reinforcer
    names = read_session_names(request.actor, programme_id, device_id=device_of(request), now=now)
    initial |= {"handler": names.handler, "place": names.place}
    second_dogs = {str(dog.id): dog for dog in list_second_dogs(request.actor, programme_id, now=now)}
    initial["beside"] = (request.POST if request.method == "POST" else request.GET).get("beside", "")
    second = second_dogs.get(initial["beside"])
    mat = None if second is None else find_mat_start(request.actor, second, now=now)
    asked = mat if mat and mat.asks else None
    initial["can"] = asked.step if asked else ""
    form = SessionCardForm(
        request.POST if request.method == "POST" else None,
        initial=initial,
        behaviour=behaviour,
        reinforcers=card.reinforcers,
        names=names,
        second_dogs=[(key, dog.name) for key, dog in second_dogs.items()],
        asked=asked,
    )
    if request.method == "POST":
        request.actor.require_write()
        if form.is_valid():
            try:
                session_id = start_session(
                    request.actor,
                    programme_id,
                    form.start(),
                    device_id=device_of(request),
                    tz_offset_min=tz_offset_min(request, now),
                    now=now,
                )
            except InvalidInput as error:
                add_problems(form, error)
            else:
                _begin_mat(request, session_id, form.cleaned_data["beside"], form.cleaned_data.get("can", ""))
                return redirect("live", session_id=session_id)
    context = {
        "card": card,
        "behaviour": behaviour,
        "form": form,
        "choice": choice,
        "catalogue": catalogue,
        "others": [s for s in card.standings if s.behaviour.key != behaviour.key],
        "chosen": behaviour.step(str(form["step"].value())),
        "is_probe": form["kind"].value() == SessionKind.PROBE.value,
        "proposed": card.proposal is not None and card.proposal.behaviour_key == behaviour.key,
        "rules": card_rules(behaviour, str(form["step"].value())),
        "signs": signs_in_words(card.head.signs),
    }
    return render(request, "pupilage/session_card.html", context, status=400 if form.is_bound else 200)


def _begin_mat(request: HttpRequest, session_id: UUID, dog: str, can: str) -> None:
    if dog:
        now = clock.now()
        start_beside(
            request.actor,
            session_id,
            UUID(dog),
            can=can,
            device_id=device_of(request),
            tz_offset_min=tz_offset_min(request, now),
            now=now,
        )


def _behaviour(asked: str, card: SessionCard, catalogue: Catalogue) -> Behaviour:
    """Return the behaviour asked for, else the one proposed, else the first goal, else the catalogue's first."""
    keys = [asked, card.proposal.behaviour_key if card.proposal else "", *(s.behaviour.key for s in card.standings)]
    found = [behaviour for key in keys if (behaviour := catalogue.find_behaviour(key)) is not None]
    return found[0] if found else next(iter(catalogue.behaviours.values()))


def _initial(request: HttpRequest, card: SessionCard, behaviour: Behaviour) -> dict[str, object]:
    standing = next((s for s in card.standings if s.behaviour.key == behaviour.key), None)
    step = standing.step.key if standing else behaviour.steps[0].key
    if card.proposal is not None and card.proposal.behaviour_key == behaviour.key:
        step = card.proposal.step_key
    kinds = {kind.value for kind in SessionKind}
    kind = request.GET.get("kind", "")
    return {
        "step": step,
        "kind": kind if kind in kinds else SessionKind.TRAINING.value,
        "reinforcer": card.reinforcers[0].name if card.reinforcers else "",
        "pieces": USUAL_PIECES,
    }
