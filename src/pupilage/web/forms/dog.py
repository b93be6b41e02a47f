"""What is said of a dog."""

from typing import Any

from django import forms
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from pupilage.core.units import WeightUnit, from_kg
from pupilage.services.change_dog import DogFacts
from pupilage.services.read_dog import DogCard
from pupilage.web.forms.fields import DayField, FigureField, weight_in_kg


class DogForm(forms.Form):
    """Name, birth, food, adult weight; and whether the veterinarian has seen to the signs."""

    name = forms.CharField(label=_("Name"), max_length=80)
    born_on = DayField(label=_("Born on"))
    breed = forms.CharField(label=_("Breed or mix"), required=False, max_length=120)
    adult_weight = FigureField(label=_("Weight expected when grown"), required=False)
    food_name = forms.CharField(label=_("Food"), required=False, max_length=120)
    daily_food_g = FigureField(label=_("Grams a day"), required=False)
    food_kcal_per_100g = FigureField(label=_("kcal per 100 g"), required=False)
    signs_settled = forms.BooleanField(
        label=_("The veterinarian has seen to this"), required=False, help_text=_("Then the reminder goes away.")
    )

    def __init__(self, *args: Any, dog: DogCard, unit: WeightUnit, **kwargs: Any) -> None:
        adult = dog.expected_adult_weight_kg
        initial = {**vars(dog), "adult_weight": None if adult is None else round(from_kg(adult, unit), 1)}
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
            food_kcal_per_100g=given["food_kcal_per_100g"],
            expected_adult_weight_kg=weight_in_kg(given["adult_weight"], self.unit),
        )
