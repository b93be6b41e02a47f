"""The rules that a phone decides by on its own, their sentences in the language of the request."""

from typing import Any

from django.utils.translation import gettext

from pupilage.core.incidents.beside import pay_figures
from pupilage.core.training.criterion.advice import Action
from pupilage.core.training.criterion.phone_rules import phone_figures, phone_sentences
from pupilage.web.live_state import action_word


def rules_state() -> dict[str, Any]:
    """Return figures and sentences; figures stand in a sentence's places as core writes them (`deciding.js`)."""
    says: dict[str, Any] = {
        rule: {name: gettext(one.template) for name, one in sentences.items()}
        for rule, sentences in phone_sentences().items()
    }
    shares = {"percent": gettext("{n} %"), "under": gettext("under 1 %"), "over": gettext("over 99 %")}
    actions = {action.value: action_word(action) for action in Action}
    return {"figures": phone_figures() | {"mat": pay_figures()}, "says": says | shares, "actions": actions}
