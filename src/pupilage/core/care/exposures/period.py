"""The sensitive period: the weeks in which a pup takes to new things most easily."""

from dataclasses import dataclass
from datetime import date, timedelta

from pupilage.core.words import Sentence, sentence

OPENS_WEEKS = 3
BEGINS_TO_CLOSE_WEEKS = 12
CLOSED_WEEKS = 14
"""From memory: about 3 to 12 or 14 weeks (Scott and Fuller, 1965, Genetics and the Social Behavior of the Dog;
Freedman, King and Elliot, 1961, Science 133:1016). The end is gradual and differs between pups: hence two days."""


@dataclass(frozen=True)
class SensitivePeriod:
    """opens_on, begins_to_close_on, closes_on: days, from the date of birth alone."""

    opens_on: date
    begins_to_close_on: date
    closes_on: date

    def days_left(self, today: date) -> int:
        """Return the days until it is closed, today not counted; 0 once it is."""
        return max(0, (self.closes_on - today).days)

    def words(self, today: date) -> Sentence:
        """Return what today means for the pup."""
        early = (self.begins_to_close_on - today).days
        if early > 0:
            return sentence(
                "The weeks in which new things are met most easily begin to close in {early} days, and are over in"
                " about {n}.",
                early=early,
                n=self.days_left(today),
            )
        if self.days_left(today) > 0:
            return sentence(
                "The weeks in which new things are met most easily are closing: about {n} days are left.",
                n=self.days_left(today),
            )
        return sentence(
            "The weeks in which new things are met most easily are over. A pup goes on learning; it takes more"
            " meetings, at its own pace."
        )


def sensitive_period(born_on: date) -> SensitivePeriod:
    """Return the sensitive period of a pup.

    Model: from 3 weeks of age to 12, when it begins to close, and 14, when it is taken to be closed.
    Source: Scott & Fuller 1965; Freedman et al. 1961 (from memory); checked in tests/external/test_sensitive_period.py.
    """
    return SensitivePeriod(
        opens_on=born_on + timedelta(weeks=OPENS_WEEKS),
        begins_to_close_on=born_on + timedelta(weeks=BEGINS_TO_CLOSE_WEEKS),
        closes_on=born_on + timedelta(weeks=CLOSED_WEEKS),
    )
