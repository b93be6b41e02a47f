"""What a phone takes along for the day as JSON, its sentences in the language of the request."""

from typing import Any

from pupilage.core.planning.proposal import Proposal
from pupilage.services.read_phone_day import PhoneBehaviour, PhoneDay, PhoneStay
from pupilage.storage.catalogue_files import load_catalogue
from pupilage.web.forms.session_card import USUAL_PIECES
from pupilage.web.live_state import behaviour_state, live_state, pay_state, second_choice, table_state
from pupilage.web.training_words import criterion_words
from pupilage.web.words import said


def day_state(day: PhoneDay) -> dict[str, Any]:
    """Return the day as the logger keeps it."""
    return {"owner": day.owner, "day": day.day.isoformat(), "stays": [_stay(stay) for stay in day.stays]}


def _stay(stay: PhoneStay) -> dict[str, Any]:
    return {
        "programme": str(stay.programme_id),
        "dog": stay.dog,
        "proposals": [_proposal(proposal) for proposal in stay.proposals],
        "behaviours": {one.behaviour.key: _behaviour(one) for one in stay.behaviours},
        "reinforcers": list(stay.reinforcers),
        "foods": sorted(stay.foods),
        "seconds": [second_choice(second) for second in stay.seconds],
        "pieces": USUAL_PIECES,
    }


def _proposal(proposal: Proposal) -> dict[str, str]:
    return {"behaviour": proposal.behaviour_key, "step": proposal.step_key, "reason": said(proposal.reason)}


def _behaviour(one: PhoneBehaviour) -> dict[str, Any]:
    distractions = load_catalogue().distractions
    steps = [
        {
            "key": s.key,
            "summary": s.summary,
            "duration_s": s.criterion.duration_s,
            "words": "; ".join(criterion_words(s.criterion, distractions)),
        }
        for s in one.behaviour.steps
    ]
    return behaviour_state(one.behaviour) | {
        "step": one.step,
        "steps": steps,
        "states": {key: live_state(live) for key, live in one.starts.items()},
        "tables": {key: table_state(one.behaviour, table) for key, table in one.tables.items()},
        "pays": {
            key: [{"session": str(session_id), "pay": pay_state(pay)} for session_id, pay in pays]
            for key, pays in one.pays.items()
        },
    }
