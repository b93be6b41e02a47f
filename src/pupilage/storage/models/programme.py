"""A pup's stay, and what it should be able to do at its end."""

from django.db import models
from django.db.models import F, Q

from pupilage.core.care.toilet.limits import DEFAULT_RISK, LEAST_RISK, MOST_RISK
from pupilage.storage.models.household import Dog, Household
from pupilage.storage.models.owned import Owned


class Programme(Owned):
    """The stay of one pup, from its arrival to the hand-over.

    prior_shape: what was expected of the pup when its stay began, from earlier dogs (`prior_shape.Shape`); null is the
    shipped prior. It never changes, so that figures move with the record alone. outing_risk: the chance of an accident
    between two outings that the trainer takes. days_off: days without training, as ISO dates.
    minutes_a_day: of the trainer's, for training and for meeting the world; null is as many as it takes.
    """

    dog = models.ForeignKey(Dog, on_delete=models.PROTECT, related_name="programmes")
    family = models.ForeignKey(Household, on_delete=models.PROTECT, related_name="+", null=True)
    arrival_on = models.DateField()
    handover_on = models.DateField()
    sessions_a_day = models.PositiveSmallIntegerField(default=4)
    prior_shape = models.JSONField(null=True, editable=False)
    outing_risk = models.FloatField(default=DEFAULT_RISK)
    minutes_a_day = models.PositiveSmallIntegerField(null=True)
    days_off = models.JSONField(default=list, blank=True)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(outing_risk__gte=LEAST_RISK) & Q(outing_risk__lte=MOST_RISK), name="outing_risk_in_range"
            ),
            models.CheckConstraint(condition=Q(handover_on__gt=F("arrival_on")), name="handover_after_arrival"),
        ]


class Goal(Owned):
    """A behaviour that the pup should show at hand-over, at a step of the catalogue; weight 1 to 5."""

    programme = models.ForeignKey(Programme, on_delete=models.PROTECT, related_name="goals")
    behaviour = models.CharField(max_length=60)
    step = models.CharField(max_length=60)
    weight = models.PositiveSmallIntegerField(default=3)
    dropped_at = models.DateTimeField(null=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["programme", "behaviour"], name="one_goal_a_behaviour"),
            models.CheckConstraint(condition=Q(weight__gte=1) & Q(weight__lte=5), name="weight_from_1_to_5"),
        ]


class ProgrammePlan(Owned):
    """The last good plan of a stay, and why a newer one could not be made.

    body: `storing.plan_to_json`, null before the first; inputs_key: of what it was made from; trouble: the clash of the
    last attempt (`storing.clash_to_json`), null where that went well; tried_at: of the last attempt.
    """

    programme = models.OneToOneField(Programme, on_delete=models.PROTECT, related_name="plan")
    body = models.JSONField(null=True)
    inputs_key = models.CharField(max_length=64, blank=True)
    made_at = models.DateTimeField(null=True)
    trouble = models.JSONField(null=True)
    tried_at = models.DateTimeField()
