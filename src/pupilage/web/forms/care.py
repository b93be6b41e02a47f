"""Writing the care log, a weight or an incident for any time."""

from typing import Any
from uuid import UUID, uuid4

from django import forms
from django.utils.translation import gettext_lazy as _

from pupilage.core.care.events import DETAILS_OF, CareKind
from pupilage.core.units import WeightUnit
from pupilage.services.log_care import CareEntry
from pupilage.web.care_words import entry_words, read_tap
from pupilage.web.food_words import CONDITION_WORDS
from pupilage.web.forms.fields import FigureField, MomentField, weight_in_kg


def list_entries() -> list[tuple[str, str]]:
    """Return every kind of entry with its words, in the active language."""
    return [
        (f"{kind.value}:{detail.value}", entry_words(kind, detail))
        for kind, details in DETAILS_OF.items()
        if kind is not CareKind.WITHDRAWN
        for detail in details
    ]


class CareForm(forms.Form):
    """One entry of the care log, for now or for an earlier time."""

    tap = forms.ChoiceField(label=_("What"), choices=list_entries)
    at = MomentField(label=_("When"), required=False)
    amount_g = FigureField(label=_("Grams eaten"), required=False, help_text=_("For a meal."))
    note = forms.CharField(label=_("Note"), required=False, max_length=500)
    event_id = forms.UUIDField(required=False, widget=forms.HiddenInput)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, label_suffix="", **kwargs)
        self.fields["event_id"].initial = uuid4

    def entry(self, *, at: Any, event_id: UUID | None, tz_offset_min: int) -> CareEntry:
        """Return the entry; `at` where the form says none."""
        given = self.cleaned_data
        kind, detail = read_tap(given["tap"])
        return CareEntry(
            kind=kind,
            detail=detail,
            at=given["at"] or at,
            amount_g=given["amount_g"],
            note=given["note"],
            event_id=event_id,
            tz_offset_min=tz_offset_min,
        )


class WeightForm(forms.Form):
    """A weighing, in the workspace's unit, with the body condition."""

    weight = FigureField(label=_("Weight"))
    body_condition = forms.TypedChoiceField(
        label=_("Body condition, 1 to 9"),
        choices=[("", _("not judged")), *CONDITION_WORDS.items()],
        coerce=int,
        empty_value=None,
        required=False,
        help_text=_("Stand it, feel the ribs, look from above and from the side. 4 and 5 are ideal."),
    )
    weighed_at = MomentField(label=_("When"), required=False, help_text=_("Left empty: now."))

    def __init__(self, *args: Any, unit: WeightUnit, **kwargs: Any) -> None:
        super().__init__(*args, label_suffix="", **kwargs)
        self.unit = unit
        self.fields["weight"].label = {
            WeightUnit.KG: _("Weight in kg"),
            WeightUnit.LB: _("Weight in lb"),
        }[unit]

    @property
    def weight_kg(self) -> float:
        return weight_in_kg(self.cleaned_data["weight"], self.unit) or 0.0
