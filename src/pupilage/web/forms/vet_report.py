"""The report for a veterinarian: its period, what to leave out, and how it is printed."""

from datetime import date
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from pupilage.core.access import Actor
from pupilage.core.units import WeightUnit
from pupilage.core.vet_report.facts import Part, Period
from pupilage.reports.pack.options import Language, PackOptions, Paper, usual_language

PARTS = (
    (Part.VET, _("veterinarian and signs")),
    (Part.INCIDENTS, _("incidents")),
    (Part.WEIGHT, _("weight and food")),
    (Part.TOILET, _("toilet record")),
    (Part.ALONE, _("time alone")),
    (Part.EXPOSURES, _("what it met")),
    (Part.ARRANGED, _("what was arranged")),
    (Part.NOTES, _("free notes and places")),
    (Part.PEOPLE, _("what people did, and who was there")),
)


class VetReportForm(forms.Form):
    """What a report holds and how it is printed."""

    first = forms.DateField(label=_("From"), widget=forms.DateInput(attrs={"type": "date"}))
    last = forms.DateField(label=_("Until"), widget=forms.DateInput(attrs={"type": "date"}))
    leave_out = forms.MultipleChoiceField(
        label=_("Leave out"),
        choices=[(part.value, words) for part, words in PARTS],
        required=False,
        widget=forms.CheckboxSelectMultiple,
    )
    language = forms.ChoiceField(label=_("Language"), choices=[("en", "English"), ("de", "Deutsch")])
    paper = forms.ChoiceField(label=_("Paper"), choices=[("a4", _("A4")), ("letter", _("Letter"))])
    unit = forms.ChoiceField(label=_("Unit of weight"), choices=[("kg", "kg"), ("lb", "lb")])

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, label_suffix="", **kwargs)

    @classmethod
    def usual(cls, actor: Actor, period: Period) -> "VetReportForm":
        """Return the form filled in as the workspace would have it: valid, and nothing left out."""
        return cls(
            {
                "first": _iso(period.first),
                "last": _iso(period.last),
                "language": usual_language(actor.language).value,
                "paper": Paper.A4.value,
                "unit": actor.weight_unit.value,
            }
        )

    def period(self) -> Period:
        """Return the period. Raises InvalidInput for one that ends before it begins, or is too long."""
        return Period(self.cleaned_data["first"], self.cleaned_data["last"])

    def left_out(self) -> frozenset[Part]:
        return frozenset(Part(key) for key in self.cleaned_data["leave_out"])

    def options(self) -> PackOptions:
        given = self.cleaned_data
        return PackOptions(Language(given["language"]), Paper(given["paper"]), False, WeightUnit(given["unit"]))


def _iso(day: date) -> str:
    return day.isoformat()
