"""Households and the dogs in them."""

from django.db import models
from django.db.models import Q

from pupilage.core.care.food.energy import EnergyMethod
from pupilage.core.care.food.label import LabelUnit
from pupilage.core.care.food.pup import AdultWeightSource
from pupilage.storage.models.owned import Owned


class Household(Owned):
    """A home: the trainer's, or the family's that the pup goes to."""

    name = models.CharField(max_length=120)
    people = models.TextField(blank=True)
    is_family = models.BooleanField(default=False)


class Dog(Owned):
    """A dog: the pup of a programme, or one that lives in the household.

    food_kcal_per_100g is what is reckoned with; food_label_unit and food_analysis, where it came from (kcal or kJ as
    printed, or worked out from protein, fat, fibre, moisture, ash in per cent). energy_method: the trainer's choice,
    "" while the grams are somebody's word; ration_basis_kcal: what the method gave when the grams were set,
    ration_set_on: the day. likes: the reinforcers' ids, what it likes best first.
    """

    household = models.ForeignKey(Household, on_delete=models.PROTECT, related_name="dogs")
    name = models.CharField(max_length=80)
    sex = models.CharField(max_length=12, blank=True)
    breed = models.CharField(max_length=120, blank=True)
    born_on = models.DateField()
    is_resident = models.BooleanField(default=False)
    food_name = models.CharField(max_length=120, blank=True)
    daily_food_g = models.FloatField(null=True)
    food_kcal_per_100g = models.FloatField(null=True)
    food_label_unit = models.CharField(max_length=16, blank=True, choices=[(u.value, u.value) for u in LabelUnit])
    food_analysis = models.JSONField(null=True)
    energy_method = models.CharField(max_length=24, blank=True, choices=[(m.value, m.value) for m in EnergyMethod])
    ration_basis_kcal = models.FloatField(null=True)
    ration_set_on = models.DateField(null=True)
    likes = models.JSONField(default=list)
    expected_adult_weight_kg = models.FloatField(null=True)
    adult_weight_from = models.CharField(
        max_length=16, blank=True, choices=[(s.value, s.value) for s in AdultWeightSource if s]
    )
    signs = models.TextField(blank=True)


class Weight(Owned):
    """A weighing, in kilograms, with the body condition of that day (1 to 9) where it was judged."""

    dog = models.ForeignKey(Dog, on_delete=models.PROTECT, related_name="weights")
    at = models.DateTimeField()
    weight_kg = models.FloatField()
    body_condition = models.PositiveSmallIntegerField(null=True)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(body_condition__gte=1) & Q(body_condition__lte=9), name="body_condition_from_1_to_9"
            ),
        ]
        indexes = [models.Index(fields=["dog", "at"])]


class VetDate(Owned):
    """A date with the veterinarian, as the trainer entered it."""

    dog = models.ForeignKey(Dog, on_delete=models.PROTECT, related_name="vet_dates")
    on = models.DateField()
    what = models.CharField(max_length=200)
