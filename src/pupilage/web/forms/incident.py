"""An incident in a few taps; words only for whoever has a hand free."""

from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime, timedelta
from enum import StrEnum
from typing import Any
from uuid import uuid4

from django import forms
from django.utils.translation import gettext_lazy as _

from pupilage.core.catalogue.behaviour import UnwantedBehaviour
from pupilage.core.incidents import between_dogs
from pupilage.core.incidents.between_dogs import Answered, Apart, BetweenDogs, Resource, Who
from pupilage.core.incidents.gains import Gain
from pupilage.core.incidents.record import Before
from pupilage.core.incidents.teeth import WORDS, Teeth
from pupilage.core.words import Sentence
from pupilage.services.log_incident import IncidentEntry
from pupilage.web.forms.fields import MomentField
from pupilage.web.incident_words import BEFORE_WORDS, DID_WORDS, GAIN_WORDS, PLACES
from pupilage.web.words import said

HAPPENED = [
    ("", _("It happened")),
    ("left", _("It looked, and left it")),
    ("near", _("It began, and you were in time")),
]
NOT_SEEN = ("", _("not seen"))
N_PLACES = 6
JUST_NOW = timedelta(minutes=5)

DOG_FIELDS: dict[str, tuple[object, Iterable[StrEnum], Mapping[Any, Sentence]]] = {
    "started": (_("Who started it"), between_dogs.STARTERS, between_dogs.WHO_WORDS),
    "resource": (_("Over what"), Resource, between_dogs.RESOURCE_WORDS),
    "apart": (_("How far apart when it began"), Apart, between_dogs.APART_WORDS),
    "answered": (_("The most the resident dog did"), Answered, between_dogs.ANSWERED_WORDS),
    "ended": (_("Who ended it"), between_dogs.ENDERS, between_dogs.WHO_WORDS),
    "dog_teeth": (_("Teeth on a dog"), Teeth, between_dogs.HURT_WORDS),
    "hurt": (_("On which dog"), between_dogs.HURT, between_dogs.WHO_WORDS),
}
DOG_KINDS: dict[str, type[StrEnum]] = {
    "started": Who,
    "resource": Resource,
    "apart": Apart,
    "answered": Answered,
    "ended": Who,
    "dog_teeth": Teeth,
    "hurt": Who,
}


class TappedField(forms.CharField):
    """Words to tap. What is sent is words, so that a list that has changed meanwhile loses nothing."""

    widget = forms.RadioSelect


class TappedManyField(forms.MultipleChoiceField):
    """Several words to tap, as `TappedField`."""

    widget = forms.CheckboxSelectMultiple

    def valid_value(self, value: Any) -> bool:
        return len(str(value)) <= 120


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
    where = TappedField(label=_("Where"), required=False, max_length=120)
    did = TappedManyField(label=_("What people did"), choices=[(words, words) for words in DID_WORDS], required=False)
    at = MomentField(label=_("When"))
    in_charge = forms.CharField(
        label=_("Who was in charge"), required=False, max_length=120, help_text=_("Left empty: you.")
    )
    place = forms.CharField(label=_("Another place"), required=False, max_length=120)
    supervised = forms.BooleanField(label=_("Somebody was watching"), required=False, initial=True)
    slip = forms.BooleanField(
        label=_("A slip of ours came first"), required=False, help_text=_("A gate left open, say. It happens.")
    )
    teeth = forms.ChoiceField(label=_("Teeth on a person’s skin"), required=False)
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
        label=_("What people did, in words"),
        required=False,
        max_length=1000,
        widget=forms.Textarea(attrs={"rows": 2}),
        help_text=_("Honestly and without blame, also what you would not do again."),
    )
    note = forms.CharField(label=_("Note"), required=False, max_length=1000)
    incident_id = forms.UUIDField(required=False, widget=forms.HiddenInput)

    def __init__(
        self,
        *args: Any,
        unwanted: Iterable[UnwantedBehaviour],
        counts: Mapping[str, int],
        places: Sequence[str] = (),
        **kwargs: Any,
    ) -> None:
        super().__init__(*args, label_suffix="", **kwargs)
        commonest = sorted(unwanted, key=lambda one: -counts.get(one.key, 0))
        self.fields["behaviour"].choices = [(one.key, one.name) for one in commonest]
        self.fields["where"].widget.choices = _places(places)
        self.fields["teeth"].choices = [("", _("none")), *((teeth.value, said(WORDS[teeth])) for teeth in Teeth)]
        self.fields["incident_id"].initial = uuid4
        for name, (label, values, words) in DOG_FIELDS.items():
            choices = [*((value.value, said(words[value])) for value in values), NOT_SEEN]
            self.fields[name] = forms.ChoiceField(
                label=label, choices=choices, required=False, widget=forms.RadioSelect
            )

    @property
    def dog_fields(self) -> list[forms.BoundField]:
        """Return the fields of an incident with the resident dog."""
        return [self[name] for name in DOG_FIELDS]

    def entry(self, now: datetime) -> IncidentEntry:
        """Return the incident as the service reads it."""
        given = dict(self.cleaned_data)
        left, where, did = given.pop("left"), given.pop("where"), given.pop("did")
        between = _between({name: given.pop(name) for name in DOG_FIELDS})
        return IncidentEntry(
            **given
            | {
                "before": tuple(Before(key) for key in given["before"]),
                "gained": Gain(given["gained"]) if given["gained"] else None,
                "teeth": Teeth(given["teeth"]) if given["teeth"] else None,
                "left_it": left == "left",
                "near_miss": left == "near",
                "at": _to_the_second(given["at"], now),
                "place": given["place"] or where,
                "people_did": "; ".join([*did, *([given["people_did"]] if given["people_did"] else [])]),
                "between": between,
            }
        )


class LeftForm(forms.Form):
    """One tap of good news: it looked, and left it; or, with `near`, it began and somebody was in time."""

    near = forms.BooleanField(required=False)
    behaviour = forms.SlugField(max_length=60)
    event_id = forms.UUIDField(required=False)


def _to_the_second(at: datetime, now: datetime) -> datetime:
    """Return a time that was left as the form showed it as the end of its minute.

    The form knows minutes only. What was tapped earlier in that minute came before the incident, and must stay so.
    """
    return min(now, at + timedelta(seconds=59)) if now - JUST_NOW <= at <= now else at


def _places(known: Sequence[str]) -> list[tuple[str, str]]:
    words = list(dict.fromkeys([*known, *map(str, PLACES)]))[:N_PLACES]
    return [*((place, place) for place in words), ("", str(_("not said")))]


def _between(given: Mapping[str, str]) -> BetweenDogs | None:
    seen: dict[str, Any] = {name: DOG_KINDS[name](value) for name, value in given.items() if value}
    if "dog_teeth" in seen:
        seen["teeth"] = seen.pop("dog_teeth")
    between = BetweenDogs(**seen)
    return None if between.is_empty else between
