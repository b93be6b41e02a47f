"""Households and the dogs in them."""

from django.db import models

from pupilage.storage.models.owned import Owned


class Household(Owned):
    """A home: the trainer's, or the family's that the pup goes to."""

    name = models.CharField(max_length=120)
    people = models.TextField(blank=True)
    is_family = models.BooleanField(default=False)


class Dog(Owned):
    """A dog: the pup of a programme, or one that lives in the household."""

    household = models.ForeignKey(Household, on_delete=models.PROTECT, related_name="dogs")
    name = models.CharField(max_length=80)
    sex = models.CharField(max_length=12, blank=True)
    breed = models.CharField(max_length=120, blank=True)
    born_on = models.DateField()
    is_resident = models.BooleanField(default=False)
    food_name = models.CharField(max_length=120, blank=True)
    daily_food_g = models.FloatField(null=True)
    food_kcal_per_100g = models.FloatField(null=True)
    expected_adult_weight_kg = models.FloatField(null=True)
    signs = models.TextField(blank=True)


class Weight(Owned):
    """A weighing, in kilograms."""

    dog = models.ForeignKey(Dog, on_delete=models.PROTECT, related_name="weights")
    at = models.DateTimeField()
    weight_kg = models.FloatField()

    class Meta:
        indexes = [models.Index(fields=["dog", "at"])]


class VetDate(Owned):
    """A date with the veterinarian, as the trainer entered it."""

    dog = models.ForeignKey(Dog, on_delete=models.PROTECT, related_name="vet_dates")
    on = models.DateField()
    what = models.CharField(max_length=200)
