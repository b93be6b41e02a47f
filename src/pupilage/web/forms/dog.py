"""What is said of a dog."""

from typing import Any

from django import forms
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from pupilage.core.care.food.label import KCAL_PER_100G_IN, LabelUnit
from pupilage.core.care.food.pup import AdultWeightSource
from pupilage.core.units import WeightUnit, from_kg
from pupilage.services.change_dog import DogFacts
from pupilage.services.read_dog import DogCard
from pupilage.web.food_words import ADULT_FROM_WORDS, UNIT_WORDS
from pupilage.web.forms.fields import DayField, FigureField, weight_in_kg

FIELD_OF = {"expected_adult_weight_kg": "adult_weight", "energy": "label_energy"}
"""The form's names for places that the service names otherwise."""

ANALYSIS = ("protein", "fat", "fibre", "moisture", "ash")


class DogForm(forms.Form):
    """Name, birth, food, adult weight; and whether the veterinarian has seen to the signs."""

    name = forms.CharField(label=_("Name"), max_length=80)
    born_on = DayField(label=_("Born on"))
    breed = forms.CharField(label=_("Breed or mix"), required=False, max_length=120)
    adult_weight = FigureField(label=_("Weight expected when grown"), required=False)
    adult_weight_from = forms.ChoiceField(
        label=_("Who says so"),
        required=False,
        choices=[(source.value, words) for source, words in ADULT_FROM_WORDS.items()],
        help_text=_("Parents, breed or veterinarian may be off by a fifth; a guess by a third and more."),
    )
    food_name = forms.CharField(label=_("Food"), required=False, max_length=120)
    daily_food_g = FigureField(label=_("Grams a day"), required=False)
    label_energy = FigureField(label=_("Energy on the label"), required=False)
    label_unit = forms.ChoiceField(label=_("In"), choices=[(unit.value, words) for unit, words in UNIT_WORDS.items()])
    protein = FigureField(label=_("Protein, %"), required=False)
    fat = FigureField(label=_("Fat, %"), required=False)
    fibre = FigureField(label=_("Fibre, %"), required=False)
    moisture = FigureField(label=_("Moisture, %"), required=False)
    ash = FigureField(label=_("Ash, %"), required=False)
    signs_settled = forms.BooleanField(
        label=_("The veterinarian has seen to this"), required=False, help_text=_("Then the reminder goes away.")
    )

    def __init__(self, *args: Any, dog: DogCard, unit: WeightUnit, **kwargs: Any) -> None:
        adult = dog.expected_adult_weight_kg
        initial = {
            **vars(dog),
            **(dog.food_analysis or {}),
            **_label_of(dog),
            "adult_weight": None if adult is None else round(from_kg(adult, unit), 1),
        }
        super().__init__(*args, label_suffix="", initial=initial, **kwargs)
        self.unit = unit
        self.fields["adult_weight"].help_text = gettext("In {unit}.").format(unit=unit.value)
        if not dog.signs:
            del self.fields["signs_settled"]

    def facts(self) -> DogFacts:
        """Return what was given, weights in kilograms."""
        given = self.cleaned_data
        return DogFacts(
            name=given["name"],
            born_on=given["born_on"],
            breed=given["breed"],
            food_name=given["food_name"],
            daily_food_g=given["daily_food_g"],
            label_energy=given["label_energy"],
            label_unit=LabelUnit(given["label_unit"]),
            analysis={name: given[name] for name in ANALYSIS},
            expected_adult_weight_kg=weight_in_kg(given["adult_weight"], self.unit),
            adult_weight_from=AdultWeightSource(given["adult_weight_from"]),
        )


def _label_of(dog: DogCard) -> dict[str, object]:
    """Return the label as it was typed: the energy in its own unit, none where it came from the analysis."""
    unit = LabelUnit(dog.food_label_unit or LabelUnit.KCAL_PER_100G)
    kcal = dog.food_kcal_per_100g
    if kcal is None or unit is LabelUnit.ANALYSIS:
        return {"label_unit": unit.value}
    return {"label_energy": round(kcal / KCAL_PER_100G_IN[unit], 1), "label_unit": unit.value}
