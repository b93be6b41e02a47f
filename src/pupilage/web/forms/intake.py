"""The intake: one form, in short parts, of which only the first must be filled in."""

from datetime import date, timedelta
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from pupilage.core.units import WeightUnit
from pupilage.services.start_programme import Intake, NewDog, NewReinforcer, intake_problems
from pupilage.web.forms.choices import SEX, WEIGHT_UNITS, list_timezones
from pupilage.web.forms.fields import DayField, FigureField, WholeField, weight_in_kg
from pupilage.web.vet_first import SIGNS
from pupilage.web.words import said

USUAL_STAY = timedelta(days=21)
USUAL_AGE = timedelta(weeks=9)
FIELD_OF = {
    "pup.name": "pup_name",
    "pup.born_on": "born_on",
    "pup.weight_kg": "weight",
    "pup.expected_adult_weight_kg": "adult_weight",
    "pup.daily_food_g": "daily_food_g",
    "resident.name": "resident_name",
    "resident.born_on": "resident_born_on",
}


class IntakeForm(forms.Form):
    """Household, pup, dates, resident dog, family, diet, signs, and how things are shown."""

    household = forms.CharField(label=_("Household"), max_length=120, help_text=_("Your own name will do."))
    people = forms.CharField(label=_("Who lives there"), required=False, max_length=300)
    pup_name = forms.CharField(label=_("The pup's name"), max_length=80)
    born_on = DayField(label=_("Born on"), help_text=_("If nobody knows, the best guess."))
    sex = forms.ChoiceField(label=_("Sex"), choices=SEX, required=False)
    breed = forms.CharField(label=_("Breed or mix"), required=False, max_length=120)
    weight = FigureField(label=_("Weight now"), required=False)
    adult_weight = FigureField(label=_("Weight expected when grown"), required=False)
    weight_unit = forms.ChoiceField(label=_("Weights in"), choices=WEIGHT_UNITS)
    arrival_on = DayField(label=_("Arrival"))
    handover_on = DayField(label=_("Hand-over"), help_text=_("Three weeks is proposed; change it freely."))
    sessions_a_day = WholeField(
        label=_("Short sessions a day"), help_text=_("Three to five minutes each; four is a good start.")
    )
    timezone = forms.ChoiceField(label=_("Time zone"), choices=list_timezones)
    signs = forms.MultipleChoiceField(
        label=_("Is any of this so?"),
        choices=list(SIGNS.items()),
        required=False,
        widget=forms.CheckboxSelectMultiple,
    )
    signs_other = forms.CharField(label=_("Anything else that worries you"), required=False, max_length=300)
    resident_name = forms.CharField(label=_("Name of a dog that lives there"), required=False, max_length=80)
    resident_born_on = DayField(
        label=_("That dog was born on"), required=False, help_text=_("The year is enough; any day of it.")
    )
    family = forms.CharField(
        label=_("The family the pup goes to"), required=False, max_length=120, help_text=_("If it is known.")
    )
    food_name = forms.CharField(label=_("Food"), required=False, max_length=120)
    daily_food_g = FigureField(
        label=_("Grams a day"), required=False, help_text=_("As the veterinarian or the breeder says.")
    )
    food_kcal_per_100g = FigureField(label=_("kcal per 100 g"), required=False, help_text=_("It stands on the label."))

    def __init__(self, *args: Any, today: date, **kwargs: Any) -> None:
        super().__init__(*args, label_suffix="", **kwargs)
        self.today = today

    def clean(self) -> dict[str, Any]:
        given = super().clean() or self.cleaned_data
        if given.get("resident_name") and not given.get("resident_born_on"):
            self.add_error("resident_born_on", _("Give the year that dog was born in; any day of it will do."))
        kcal = given.get("food_kcal_per_100g")
        if kcal is not None and not 0 < kcal <= 900:
            self.add_error("food_kcal_per_100g", _("No food has that; the label gives a number up to 900."))
        for problem in intake_problems(self._draft(), today=self.today):
            field = FIELD_OF.get(problem.where, problem.where)
            if field not in self.errors:
                self.add_error(field if field in self.fields else None, said(problem.sentence))
        return given

    def _draft(self) -> Intake:
        """The intake with plausible values where a field is wrong, so that every other problem is found at once."""
        given = self.cleaned_data
        arrival = given.get("arrival_on") or self.today
        filled = {
            **given,
            "arrival_on": arrival,
            "handover_on": given.get("handover_on") or arrival + USUAL_STAY,
            "born_on": given.get("born_on") or arrival - USUAL_AGE,
            "sessions_a_day": given["sessions_a_day"] if given.get("sessions_a_day") is not None else 1,
        }
        return intake_of(filled)


class ReinforcerRow(forms.Form):
    """One thing the pup works for; a row without a name is left out."""

    name = forms.CharField(label=_("Name"), required=False, max_length=80)
    piece_g = FigureField(label=_("Grams a piece"), required=False, min_value=0, max_value=50)
    kcal_per_100g = FigureField(label=_("kcal per 100 g"), required=False, min_value=0, max_value=900)
    from_ration = forms.BooleanField(label=_("Out of the weighed ration"), required=False)


class VetDateRow(forms.Form):
    """One date with the veterinarian; an empty row is left out."""

    on = DayField(label=_("Day"), required=False)
    what = forms.CharField(label=_("What for"), required=False, max_length=200)

    def clean(self) -> dict[str, Any]:
        given = super().clean() or self.cleaned_data
        if given.get("what") and not given.get("on") and "on" not in self.errors:
            self.add_error("on", _("Give the day."))
        if given.get("on") and not given.get("what"):
            given["what"] = str(_("Veterinarian"))
        return given


ReinforcerRows = forms.formset_factory(ReinforcerRow, extra=1, max_num=8)
VetDateRows = forms.formset_factory(VetDateRow, extra=3, max_num=8)


def first_reinforcers() -> list[dict[str, Any]]:
    """Return what most pups work for, to be changed.

    Grams a piece: common practice, no source. kcal per 100 g: USDA food data for chicken breast and cheddar; 370 is
    a usual label of dry food (from memory). The label goes before all of them.
    """
    return [
        {"name": str(_("dry food out of the ration")), "piece_g": 0.4, "kcal_per_100g": 370, "from_ration": True},
        {"name": str(_("cooked chicken")), "piece_g": 0.5, "kcal_per_100g": 165, "from_ration": False},
        {"name": str(_("cheese")), "piece_g": 0.5, "kcal_per_100g": 403, "from_ration": False},
    ]


def intake_of(given: dict[str, Any], reinforcers: Any = (), vet_dates: Any = ()) -> Intake:
    """Return what the form says as the service reads it."""
    unit = WeightUnit(given.get("weight_unit") or WeightUnit.KG)
    pup = NewDog(
        name=given.get("pup_name", ""),
        born_on=given["born_on"],
        sex=given.get("sex", ""),
        breed=given.get("breed", ""),
        weight_kg=weight_in_kg(given.get("weight"), unit),
        expected_adult_weight_kg=weight_in_kg(given.get("adult_weight"), unit),
        food_name=given.get("food_name", ""),
        daily_food_g=given.get("daily_food_g"),
        food_kcal_per_100g=given.get("food_kcal_per_100g"),
        signs="\n".join([*given.get("signs", []), *filter(None, [given.get("signs_other", "")])]),
    )
    resident = None
    if given.get("resident_name") and given.get("resident_born_on"):
        resident = NewDog(name=given["resident_name"], born_on=given["resident_born_on"])
    return Intake(
        household=given.get("household", ""),
        pup=pup,
        arrival_on=given["arrival_on"],
        handover_on=given["handover_on"],
        sessions_a_day=given["sessions_a_day"],
        people=given.get("people", ""),
        family=given.get("family", ""),
        resident=resident,
        vet_dates=tuple((row["on"], row["what"]) for row in vet_dates if row.get("on")),
        reinforcers=tuple(
            NewReinforcer(row["name"], row["piece_g"] or 0.0, row["kcal_per_100g"], row["from_ration"])
            for row in reinforcers
            if row.get("name")
        ),
    )
