"""An incident in a few taps; words only for whoever has a hand free."""

from collections.abc import Iterable, Mapping
from typing import Any
from uuid import uuid4

from django import forms
from django.utils.translation import gettext_lazy as _

from pupilage.core.catalogue.behaviour import UnwantedBehaviour
from pupilage.core.incidents.gains import Gain
from pupilage.core.incidents.record import Before
from pupilage.core.incidents.teeth import WORDS, Teeth
from pupilage.services.log_incident import IncidentEntry
from pupilage.web.forms.fields import MomentField
from pupilage.web.incident_words import BEFORE_WORDS, GAIN_WORDS
from pupilage.web.words import said

HAPPENED = [("", _("It happened")), ("left", _("It looked, and left it"))]


class IncidentForm(forms.Form):
    """An incident in observable words. Only the behaviour has to be chosen."""

    behaviour = forms.ChoiceField(label=_("What the pup did"), widget=forms.RadioSelect)
    left = forms.ChoiceField(label=_("And"), choices=HAPPENED, required=False, widget=forms.RadioSelect)
    before = forms.MultipleChoiceField(
        label=_("Just before"), choices=list(BEFORE_WORDS.items()), required=False, widget=forms.CheckboxSelectMultiple
    )
    gained = forms.ChoiceField(
        label=_("What it had by it"),
        choices=[*GAIN_WORDS.items(), ("", _("nobody saw"))],
        required=False,
        widget=forms.RadioSelect,
    )
    at = MomentField(label=_("When"))
    place = forms.CharField(label=_("Where"), required=False, max_length=120)
    supervised = forms.BooleanField(label=_("Somebody was watching"), required=False, initial=True)
    slip = forms.BooleanField(
        label=_("A slip of ours came first"), required=False, help_text=_("A gate left open, say. It happens.")
    )
    teeth = forms.ChoiceField(label=_("Teeth on skin"), required=False)
    antecedent = forms.CharField(
        label=_("Before it, in words"),
        required=False,
        max_length=1000,
        widget=forms.Textarea(attrs={"rows": 2}),
        help_text=_("What a camera would have seen, such as: shoes on the floor, nobody in the room."),
    )
    consequence = forms.CharField(
        label=_("After it, in words"), required=False, max_length=1000, widget=forms.Textarea(attrs={"rows": 2})
    )
    people_did = forms.CharField(
        label=_("What people did"),
        required=False,
        max_length=1000,
        widget=forms.Textarea(attrs={"rows": 2}),
        help_text=_("Honestly and without blame, also what you would not do again."),
    )
    note = forms.CharField(label=_("Note"), required=False, max_length=1000)
    incident_id = forms.UUIDField(required=False, widget=forms.HiddenInput)

    def __init__(
        self, *args: Any, unwanted: Iterable[UnwantedBehaviour], counts: Mapping[str, int], **kwargs: Any
    ) -> None:
        super().__init__(*args, label_suffix="", **kwargs)
        commonest = sorted(unwanted, key=lambda one: -counts.get(one.key, 0))
        self.fields["behaviour"].choices = [(one.key, one.name) for one in commonest]
        self.fields["teeth"].choices = [("", _("none")), *((teeth.value, said(WORDS[teeth])) for teeth in Teeth)]
        self.fields["incident_id"].initial = uuid4

    def entry(self) -> IncidentEntry:
        """Return the incident as the service reads it."""
        given = dict(self.cleaned_data)
        left = given.pop("left")
        return IncidentEntry(
            **given
            | {
                "before": tuple(Before(key) for key in given["before"]),
                "gained": Gain(given["gained"]) if given["gained"] else None,
                "teeth": Teeth(given["teeth"]) if given["teeth"] else None,
                "left_it": left == "left",
            }
        )
