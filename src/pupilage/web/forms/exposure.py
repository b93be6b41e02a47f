"""One meeting with an item, by a tap or with its circumstances."""

from collections.abc import Iterable
from datetime import datetime
from typing import Any
from uuid import UUID, uuid4, uuid5

from django import forms
from django.utils.translation import gettext_lazy as _

from pupilage.core.care.exposures.item import VetTopic
from pupilage.core.care.exposures.log import Response
from pupilage.core.care.exposures.wording import INTENSITY_WORDS, RESPONSE_WORDS
from pupilage.services.log_exposure import ExposureEntry
from pupilage.web.forms.fields import FigureField, MomentField
from pupilage.web.words import said


def list_intensities() -> list[tuple[int, str]]:
    """Return the five intensities with their words, in the active language."""
    return [(n, f"{n} – {said(words)}") for n, words in INTENSITY_WORDS.items()]


def list_responses() -> list[tuple[str, str]]:
    """Return the five responses with their words, in the active language."""
    return [(response.value, said(words)) for response, words in RESPONSE_WORDS.items()]


class ExposureForm(forms.Form):
    """A meeting. All but the response has a value already: as proposed, or as it was last time."""

    response = forms.ChoiceField(label=_("What the pup did"), choices=list_responses)
    intensity = forms.TypedChoiceField(label=_("How strong"), coerce=int, choices=list_intensities)
    distance_m = FigureField(label=_("From how many metres"), required=False)
    recovery_s = FigureField(
        label=_("Seconds to recover"),
        required=False,
        help_text=_("From the first sign until it was loose and ate again. Left empty: not measured."),
    )
    with_food = forms.BooleanField(label=_("Paired with food"), required=False)
    note = forms.CharField(label=_("Note"), required=False, max_length=500)
    at = MomentField(label=_("When"), required=False, help_text=_("Left empty: now."))
    event_id = forms.UUIDField(required=False, widget=forms.HiddenInput)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, label_suffix="", **kwargs)
        self.fields["event_id"].initial = uuid4

    def problems(self) -> Iterable[tuple[str, str]]:
        """Return what is wrong, field by field, in words."""
        return [(name, str(message)) for name, messages in self.errors.items() for message in messages]

    def entry(self, item: str, *, now: datetime, tz_offset_min: int) -> ExposureEntry:
        """Return the meeting; the same button tapped twice on one showing of the page is one entry."""
        given = self.cleaned_data
        return ExposureEntry(
            item=item,
            at=given["at"] or now,
            intensity=given["intensity"],
            response=Response(given["response"]),
            distance_m=given["distance_m"],
            recovery_s=given["recovery_s"],
            with_food=given["with_food"],
            note=given["note"],
            event_id=uuid5(given["event_id"] or uuid4(), f"{item}:{given['response']}"),
            tz_offset_min=tz_offset_min,
        )


class VetWordForm(forms.Form):
    """The veterinarian's yes to a topic."""

    topic = forms.ChoiceField(choices=[(topic.value, topic.value) for topic in VetTopic])
    event_id = forms.UUIDField(required=False)

    @property
    def topic_and_id(self) -> tuple[VetTopic, UUID | None]:
        return VetTopic(self.cleaned_data["topic"]), self.cleaned_data["event_id"]
