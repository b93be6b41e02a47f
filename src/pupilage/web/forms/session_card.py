"""The card before a session."""

from collections.abc import Sequence
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from pupilage.core.catalogue.behaviour import Behaviour
from pupilage.core.training.criterion.judging import MAX_NAME
from pupilage.core.training.record.evidence import SessionKind
from pupilage.services.read_session_card import ReinforcerCard
from pupilage.services.read_session_names import SessionNames
from pupilage.services.start_beside import MatStart
from pupilage.services.start_session import SessionStart
from pupilage.web.forms.fields import NameWithOffers, WholeField

KINDS = [
    (SessionKind.TRAINING.value, _("Training: teaches")),
    (SessionKind.PROBE.value, _("Probe: measures, cold, without help; kept apart from training")),
]
USUAL_PIECES = 30
USUAL_PLACES = (_("kitchen"), _("living room"), _("garden"), _("quiet street"), _("park"), _("town"))


class SessionCardForm(forms.Form):
    """Step, kind, reinforcer and pieces for one behaviour; the dog beside, and what it can already where asked."""

    step = forms.ChoiceField(label=_("Step"), widget=forms.RadioSelect)
    kind = forms.ChoiceField(label=_("What for"), choices=KINDS, widget=forms.RadioSelect)
    reinforcer = forms.ChoiceField(label=_("Reinforcer"), required=False)
    pieces = WholeField(label=_("Pieces"), required=False, help_text=_("In the pouch. Left empty, nobody counts."))

    place = forms.CharField(label=_("Where"), required=False, max_length=MAX_NAME)
    handler = forms.CharField(label=_("With whom"), required=False, max_length=MAX_NAME)

    beside = forms.ChoiceField(label=_("On its mat beside"), required=False)
    can = forms.ChoiceField(
        help_text=_(
            "What it does nearly every time. This is no try, and the first hold is asked for a little shorter."
        ),
        error_messages={"required": _("Say what it can already, then begin.")},
    )

    def __init__(
        self,
        *args: Any,
        behaviour: Behaviour,
        reinforcers: Sequence[ReinforcerCard],
        names: SessionNames,
        second_dogs: Sequence[tuple[str, str]] = (),
        asked: MatStart | None = None,
        **kwargs: Any,
    ) -> None:
        super().__init__(*args, label_suffix="", **kwargs)
        self.behaviour = behaviour
        self.fields["step"].choices = [(step.key, step.summary) for step in behaviour.steps]
        on_list = [(reinforcer.name, reinforcer.name) for reinforcer in reinforcers]
        self.fields["reinforcer"].choices = [*on_list, ("", _("none, or a toy"))]
        places = names.places or tuple(str(place) for place in USUAL_PLACES)
        self.fields["place"].widget = NameWithOffers(places)
        self.fields["handler"].widget = NameWithOffers(names.handlers, attrs={"placeholder": _("you")})
        self.fields["beside"].choices = [("", _("no other dog")), *second_dogs]
        again = {"hx-get": f"?behaviour={behaviour.key}", "hx-target": "#asked", "hx-select": "#asked"}
        self.fields["beside"].widget.attrs |= again | {"hx-swap": "outerHTML"}
        if asked is None:
            del self.fields["can"]
        else:
            self.fields["can"].label = _("What can {dog} already?").format(dog=asked.programme.dog.name)
            self.fields["can"].choices = [(step.key, step.summary) for step in asked.behaviour.steps]

    def start(self) -> SessionStart:
        """Return what the session starts with."""
        given = self.cleaned_data
        return SessionStart(
            behaviour=self.behaviour.key,
            step=given["step"],
            kind=SessionKind(given["kind"]),
            reinforcer=given["reinforcer"],
            pieces=given["pieces"],
            handler=given["handler"],
            place=given["place"],
        )
