"""What the pup works for."""

from django.db import models

from pupilage.storage.models.owned import Owned


class Reinforcer(Owned):
    """A reinforcer: grams a piece, energy, and whether it comes out of the weighed ration, and what is in it."""

    name = models.CharField(max_length=80)
    piece_g = models.FloatField(default=0.0)
    kcal_per_100g = models.FloatField(null=True)
    from_ration = models.BooleanField(default=False)
    ingredients = models.TextField(blank=True)
    retired = models.BooleanField(default=False)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["workspace", "name"], name="one_reinforcer_a_name"),
        ]
