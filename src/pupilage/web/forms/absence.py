"""An absence written down afterwards: how long, which signs and when, and what it was like."""

from math import isfinite
from typing import Any
from uuid import uuid4

from django import forms
from django.utils.translation import gettext_lazy as _

from pupilage.core.incidents.absences import AbsenceRecord, Had, SignAt, Spot, State, Watched
from pupilage.core.incidents.alone import Sign
from pupilage.web.alone_words import HAD_WORDS, SIGN_WORDS, SPOT_WORDS, STATE_WORDS, WATCHED_WORDS
from pupilage.web.forms.fields import MomentField


class SpanField(forms.Field):
    """A span as minutes and seconds, `3:20`; a bare number is minutes. In seconds."""

    default_error_messages = {"invalid": _("Give minutes and seconds, such as 3:20, or minutes alone, such as 3.")}

    def __init__(self, **kwargs: Any) -> None:
        attrs = {"inputmode": "text", "autocomplete": "off", "placeholder": "0:00"}
        super().__init__(widget=forms.TextInput(attrs=attrs), **kwargs)

    def to_python(self, value: Any) -> float | None:
        text = str(value or "").strip().replace(",", ".")
        if not text:
            return None
        try:
            parts = [float(part) for part in text.split(":")]
        except ValueError:
            parts = []
        if not 1 <= len(parts) <= 3 or not all(isfinite(part) and part >= 0.0 for part in parts):
            raise forms.ValidationError(self.error_messages["invalid"], code="invalid")
        parts = [*parts, 0.0] if len(parts) == 1 else parts
        return sum(part * 60.0**place for place, part in enumerate(reversed(parts)))


class AbsenceForm(forms.Form):
    """An absence. Only when and how long are needed: no sign ticked means that none was seen."""

    at = MomentField(label=_("Left at"))
    away_s = SpanField(label=_("Away for"), help_text=_("Minutes and seconds, such as 3:20, or minutes alone."))
    watched = forms.ChoiceField(label=_("Watched by"), choices=list(WATCHED_WORDS.items()), widget=forms.RadioSelect)
    spot = forms.ChoiceField(
        label=_("Where"), choices=list(SPOT_WORDS.items()), required=False, widget=forms.RadioSelect
    )
    had = forms.MultipleChoiceField(
        label=_("It had"), choices=list(HAD_WORDS.items()), required=False, widget=forms.CheckboxSelectMultiple
    )
    state = forms.MultipleChoiceField(
        label=_("How it was"),
        choices=list(STATE_WORDS.items()),
        required=False,
        widget=forms.CheckboxSelectMultiple,
    )
    resident = forms.BooleanField(label=_("The resident dog was with it"), required=False)
    note = forms.CharField(label=_("Note"), required=False, max_length=1000, widget=forms.Textarea(attrs={"rows": 2}))
    absence_id = forms.UUIDField(required=False, widget=forms.HiddenInput)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, label_suffix="", **kwargs)
        self.fields["absence_id"].initial = uuid4
        for sign, words in SIGN_WORDS.items():
            self.fields[f"sign_{sign}"] = forms.BooleanField(label=words, required=False)
            self.fields[f"after_{sign}"] = SpanField(label=_("after"), required=False)

    @property
    def signs(self) -> list[tuple[forms.BoundField, forms.BoundField]]:
        """Each sign with the time at which it began."""
        return [(self[f"sign_{sign}"], self[f"after_{sign}"]) for sign in SIGN_WORDS]

    def record(self) -> AbsenceRecord:
        """Return the absence as the service reads it."""
        given = self.cleaned_data
        return AbsenceRecord(
            id=str(given["absence_id"] or uuid4()),
            at=given["at"],
            away_s=given["away_s"],
            signs=tuple(
                SignAt(sign, given[f"after_{sign}"])
                for sign in Sign
                if given.get(f"sign_{sign}") or given.get(f"after_{sign}") is not None
            ),
            spot=Spot(given["spot"]) if given["spot"] else None,
            resident=given["resident"],
            had=tuple(Had(key) for key in given["had"]),
            state=tuple(State(key) for key in given["state"]),
            watched=Watched(given["watched"]),
            note=given["note"],
        )
