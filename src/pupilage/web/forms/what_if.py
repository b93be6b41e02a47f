"""What if the stay were otherwise: hand-over, sessions and minutes a day, days off, and how much each goal matters."""

from collections.abc import Sequence
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from pupilage.core.catalogue.behaviour import Catalogue
from pupilage.core.planning.programme.what_if import Wish
from pupilage.core.planning.standing import GoalAim
from pupilage.web.forms.choices import IMPORTANCE
from pupilage.web.forms.fields import DayField, DaysField, WholeField

DROPPED = (0, _("dropped"))


class WhatIfForm(forms.Form):
    """The frame of a stay and a weight for each goal; what is left empty stays as it is."""

    handover_on = DayField(label=_("Hand-over"), required=False)
    sessions_a_day = WholeField(label=_("Short sessions a day"), required=False)
    minutes_a_day = WholeField(label=_("Minutes a day"), required=False, help_text=_("0: not limited."))
    days_off = DaysField(label=_("Days off"), help_text=_("Such as 2026-05-12, 2026-05-17."))

    def __init__(self, *args: Any, goals: Sequence[GoalAim], catalogue: Catalogue, **kwargs: Any) -> None:
        super().__init__(*args, label_suffix="", **kwargs)
        self.goals = goals
        for goal in goals:
            behaviour = catalogue.find_behaviour(goal.behaviour)
            self.fields[f"{goal.behaviour}-weight"] = forms.TypedChoiceField(
                label=behaviour.name if behaviour else goal.behaviour,
                choices=[*IMPORTANCE, DROPPED],
                coerce=int,
                initial=goal.weight,
                required=False,
                empty_value=None,
            )

    def weights(self) -> list[forms.BoundField]:
        """Return the fields of the goals."""
        return [self[f"{goal.behaviour}-weight"] for goal in self.goals]

    def wish(self) -> Wish:
        """Return what was given; a weight that stays as it is, is no wish."""
        given = self.cleaned_data
        weights = {goal.behaviour: given.get(f"{goal.behaviour}-weight") for goal in self.goals}
        return Wish(
            handover_on=given["handover_on"],
            sessions_a_day=given["sessions_a_day"],
            minutes_a_day=given["minutes_a_day"],
            days_off=given["days_off"] if "days_off" in self.data else None,
            weights={
                goal.behaviour: weight
                for goal in self.goals
                if (weight := weights[goal.behaviour]) is not None and weight != goal.weight
            },
        )
