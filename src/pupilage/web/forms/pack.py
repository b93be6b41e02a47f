"""The pack for the family: the trainer's own words, and how it is printed."""

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from pupilage.core.access import Actor
from pupilage.core.units import WeightUnit
from pupilage.reports.pack.options import Language, PackOptions, Paper, usual_language
from pupilage.services.save_handover_words import FamilyWords


class FamilyWordsForm(forms.Form):
    """What the trainer writes."""

    release_word = forms.CharField(
        label=_("Release word"), required=False, help_text=_("The word that sets the pup free again.")
    )
    house_rules = forms.CharField(
        label=_("House rules"),
        required=False,
        widget=forms.Textarea(attrs={"rows": 6}),
        help_text=_("A line each. Left empty, six usual ones are printed."),
    )
    note = forms.CharField(
        label=_("A word to the family"), required=False, strip=False, widget=forms.Textarea(attrs={"rows": 6})
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, label_suffix="", **kwargs)

    def words(self) -> FamilyWords:
        return FamilyWords(**self.cleaned_data)


class PackForm(forms.Form):
    """How it is printed."""

    language = forms.ChoiceField(label=_("Language"), choices=[("en", "English"), ("de", "Deutsch")])
    paper = forms.ChoiceField(label=_("Paper"), choices=[("a4", _("A4")), ("letter", _("Letter"))])
    unit = forms.ChoiceField(label=_("Unit of weight"), choices=[("kg", "kg"), ("lb", "lb")])
    large = forms.BooleanField(label=_("Large print"), required=False)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, label_suffix="", **kwargs)

    @classmethod
    def usual(cls, actor: Actor) -> "PackForm":
        """Return the form as the workspace would have it."""
        return cls(
            initial={"language": usual_language(actor.language), "paper": Paper.A4, "unit": actor.weight_unit.value}
        )

    def options(self) -> PackOptions:
        given = self.cleaned_data
        return PackOptions(
            Language(given["language"]), Paper(given["paper"]), given["large"], WeightUnit(given["unit"])
        )
