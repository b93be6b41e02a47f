"""Runs in which stretches without an unwanted behaviour, or of a wanted one, are paid."""

from django.db import models

from pupilage.core.incidents.interval_runs import RunEventKind, Spacing
from pupilage.storage.models.household import Dog
from pupilage.storage.models.owned import AppendOnly, AppendOnlyQuerySet, Owned


class IntervalRun(Owned):
    """One run with the timer. target: key of the behaviour; seed: shuffles the variable list, the same for good.

    baseline_n, baseline_min: what the first interval came from; baseline_from_log: counted by the log, not typed.
    Never changed; what happened in it are its events.
    """

    dog = models.ForeignKey(Dog, on_delete=models.PROTECT, related_name="interval_runs")
    target = models.CharField(max_length=60)
    spacing = models.CharField(max_length=12, choices=[(s.value, s.value) for s in Spacing])
    first_mean_s = models.FloatField()
    seed = models.CharField(max_length=40)
    baseline_n = models.PositiveIntegerField()
    baseline_min = models.FloatField()
    baseline_from_log = models.BooleanField(default=False)
    made_at = models.DateTimeField()

    class Meta:
        indexes = [models.Index(fields=["dog", "made_at"])]


class RunEvent(AppendOnly):
    """One tap of a run, as the phone wrote it. mean_s, interval_s: what was timed when it was tapped."""

    objects = AppendOnlyQuerySet.as_manager()  # the base's own; said again, since mypy's plugin loses its type here

    workspace = models.ForeignKey("storage.Workspace", on_delete=models.PROTECT, related_name="+")
    run = models.ForeignKey(IntervalRun, on_delete=models.PROTECT, related_name="events")
    event_id = models.UUIDField()
    kind = models.CharField(max_length=12, choices=[(k.value, k.value) for k in RunEventKind])
    at = models.DateTimeField()
    mean_s = models.FloatField()
    interval_s = models.FloatField()
    withdraws = models.UUIDField(null=True)
    received_at = models.DateTimeField()

    class Meta:
        constraints = [models.UniqueConstraint(fields=["workspace", "event_id"], name="one_run_event_an_id")]
        indexes = [models.Index(fields=["run", "at"])]
