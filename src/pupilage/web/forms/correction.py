"""Putting a trial right."""

from django import forms

from pupilage.core.training.record.evidence import Outcome
from pupilage.services.correct_trial import Correction

TAKE_BACK = "take-back"


class CorrectionForm(forms.Form):
    """Which trial, and what is to stand for it."""

    event = forms.UUIDField()
    stands = forms.ChoiceField(choices=[*((o.value, o.value) for o in Outcome), (TAKE_BACK, TAKE_BACK)])

    def correction(self) -> Correction:
        """Return the correction as the service reads it."""
        stands = self.cleaned_data["stands"]
        return Correction(self.cleaned_data["event"], None if stands == TAKE_BACK else Outcome(stands))
