"""The card before a session."""

from collections.abc import Sequence
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from pupilage.core.catalogue.behaviour import Behaviour
from pupilage.core.training.record.evidence import SessionKind
from pupilage.services.read_session_card import ReinforcerCard
from pupilage.services.start_session import SessionStart
from pupilage.web.forms.fields import WholeField

KINDS = [
    (SessionKind.TRAINING.value, _("Training: teaches")),
    (SessionKind.PROBE.value, _("Probe: measures, cold, without help; kept apart from training")),
]
USUAL_PIECES = 30


class SessionCardForm(forms.Form):
    """Step, kind, reinforcer and pieces for one behaviour."""

    step = forms.ChoiceField(label=_("Step"), widget=forms.RadioSelect)
    kind = forms.ChoiceField(label=_("What for"), choices=KINDS, widget=forms.RadioSelect)
    reinforcer = forms.ChoiceField(label=_("Reinforcer"), required=False)
    pieces = WholeField(label=_("Pieces"), required=False, help_text=_("In the pouch. Left empty, nobody counts."))

    def __init__(self, *args: Any, behaviour: Behaviour, reinforcers: Sequence[ReinforcerCard], **kwargs: Any) -> None:
        super().__init__(*args, label_suffix="", **kwargs)
        self.behaviour = behaviour
        self.fields["step"].choices = [(step.key, step.summary) for step in behaviour.steps]
        names = [(reinforcer.name, reinforcer.name) for reinforcer in reinforcers]
        self.fields["reinforcer"].choices = [*names, ("", _("none, or a toy"))]

    def start(self) -> SessionStart:
        """Return what the session starts with."""
        given = self.cleaned_data
        return SessionStart(
            behaviour=self.behaviour.key,
            step=given["step"],
            kind=SessionKind(given["kind"]),
            reinforcer=given["reinforcer"],
            pieces=given["pieces"],
        )
