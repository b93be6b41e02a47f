"""Choosing goals: a tick, a step and a weight for each behaviour."""

from collections.abc import Iterator, Sequence
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from pupilage.services.read_goals import GoalLine
from pupilage.services.set_goals import GoalChoice
from pupilage.web.forms.choices import IMPORTANCE


class GoalsForm(forms.Form):
    """Three fields for each line of the page, named after the behaviour's key."""

    def __init__(self, *args: Any, lines: Sequence[GoalLine], **kwargs: Any) -> None:
        super().__init__(*args, label_suffix="", **kwargs)
        self.lines = lines
        for line in lines:
            self._add(line)

    def _add(self, line: GoalLine) -> None:
        key = line.behaviour.key
        steps = [(step.key, step.summary) for step in line.behaviour.steps]
        self.fields[f"{key}-chosen"] = forms.BooleanField(
            label=line.behaviour.name, required=False, initial=line.chosen
        )
        self.fields[f"{key}-step"] = forms.ChoiceField(
            label=_("At hand-over"), choices=steps, initial=line.step, required=False
        )
        self.fields[f"{key}-weight"] = forms.TypedChoiceField(
            label=_("How much it matters"), choices=IMPORTANCE, coerce=int, initial=line.weight, required=False
        )

    def rows(self) -> Iterator[dict[str, Any]]:
        """Return each line with its three fields, the chosen ones first, else in the order proposed."""
        for line in self.lines:
            key = line.behaviour.key
            yield {
                "line": line,
                "chosen": self[f"{key}-chosen"],
                "step": self[f"{key}-step"],
                "weight": self[f"{key}-weight"],
            }

    def clean(self) -> dict[str, Any]:
        given = super().clean() or self.cleaned_data
        if not self.errors and not self.choices():
            raise forms.ValidationError(_("Tick at least one behaviour; you can change it any day."))
        return given

    def choices(self) -> list[GoalChoice]:
        """Return the goals that are ticked."""
        given = self.cleaned_data
        return [
            GoalChoice(
                line.behaviour.key,
                given.get(f"{line.behaviour.key}-step") or line.step,
                given.get(f"{line.behaviour.key}-weight") or line.weight,
            )
            for line in self.lines
            if given.get(f"{line.behaviour.key}-chosen")
        ]
