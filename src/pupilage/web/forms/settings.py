"""How things are shown, and what the pup works for."""

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from pupilage.services.save_reinforcer import ReinforcerEntry
from pupilage.services.set_preferences import Preferences
from pupilage.web.forms.choices import WEIGHT_UNITS, list_languages, list_timezones
from pupilage.web.forms.fields import FigureField


class PreferencesForm(forms.Form):
    """Language, time zone, unit of weight, whom to call."""

    language = forms.ChoiceField(label=_("Language"), choices=list_languages)
    timezone = forms.ChoiceField(label=_("Time zone"), choices=list_timezones)
    weight_unit = forms.ChoiceField(label=_("Weights in"), choices=WEIGHT_UNITS)
    vet_phone = forms.CharField(label=_("Veterinarian's telephone"), required=False, max_length=40)
    poison_phone = forms.CharField(
        label=_("Animal poison service's telephone"),
        required=False,
        max_length=40,
        help_text=_("Of your country. Look it up today: it stands on the page for when something was eaten."),
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, label_suffix="", **kwargs)

    def preferences(self) -> Preferences:
        """Return the choices as the service reads them."""
        return Preferences(**self.cleaned_data)


class ReinforcerForm(forms.Form):
    """A reinforcer to add or change; the same name changes the one there is."""

    name = forms.CharField(label=_("Name"), max_length=80)
    piece_g = FigureField(label=_("Grams a piece"), help_text=_("0 for a toy."))
    kcal_per_100g = FigureField(label=_("kcal per 100 g"), required=False)
    from_ration = forms.BooleanField(label=_("Out of the weighed ration"), required=False)
    ingredients = forms.CharField(
        label=_("What is in it"),
        required=False,
        max_length=2000,
        widget=forms.Textarea(attrs={"rows": 2}),
        help_text=_("As the package lists it; seasoned meat too. It is searched for what must not be fed."),
    )
    retired = forms.BooleanField(label=_("No longer offer it"), required=False)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, label_suffix="", **kwargs)

    def entry(self) -> ReinforcerEntry:
        """Return the reinforcer as the service reads it."""
        return ReinforcerEntry(**self.cleaned_data)
