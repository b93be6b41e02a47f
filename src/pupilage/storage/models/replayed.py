"""What was worked out again of an ended stay: a cache that can be made anew from the log."""

from django.db import models

from pupilage.storage.models.owned import Owned
from pupilage.storage.models.programme import Programme


class ReplayedStay(Owned):
    """Forecasts as they would have been told, and how often the advice was overruled.

    made_from: a hash of the log's mark, the goals, the dates, the catalogue and the version of the replay; another one
    means that it is made again.
    """

    programme = models.OneToOneField(Programme, on_delete=models.CASCADE, related_name="replayed")
    made_from = models.CharField(max_length=64)
    body = models.JSONField()
    made_at = models.DateTimeField()
