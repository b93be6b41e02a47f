"""Which two codings are compared, and how."""

from collections.abc import Iterable
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from pupilage.core.evaluation.comparison import INTERVAL_S, TOLERANCE_S, Terms
from pupilage.services.compare_codings import Sides
from pupilage.web.forms.fields import FigureField


class TermsForm(forms.Form):
    """Interval, tolerance and shift, in seconds."""

    one = forms.ChoiceField(label=_("The first"), required=False)
    other = forms.ChoiceField(label=_("The second"), required=False)
    interval_s = FigureField(label=_("Seconds an interval"), required=False)
    tolerance_s = FigureField(
        label=_("Seconds apart"), required=False, help_text=_("Up to this far apart, two marks are the same moment.")
    )
    shift_s = FigureField(
        label=_("Seconds to add to the second's times"),
        required=False,
        help_text=_("Where the two clocks were started at different moments."),
    )

    def __init__(self, *args: Any, sides: Iterable[tuple[str, str]] = (), **kwargs: Any) -> None:
        super().__init__(*args, label_suffix="", **kwargs)
        known = list(sides)
        for name in ("one", "other"):
            self.fields[name].choices = known

    @classmethod
    def read(cls, given: Any) -> tuple[Sides, Terms, dict[str, list[str]]]:
        """Return what an address asks for, and what of it cannot be read; the usual terms stand in for that."""
        form = cls(given)
        figures = ("interval_s", "tolerance_s", "shift_s")
        form.is_valid()
        read = {name: form.cleaned_data.get(name) for name in figures}
        usual = {"interval_s": INTERVAL_S, "tolerance_s": TOLERANCE_S, "shift_s": 0.0}
        terms = Terms(**{name: usual[name] if read[name] is None else read[name] for name in figures})
        wrong = {name: form.errors[name] for name in figures if name in form.errors}
        return Sides(given.get("one", ""), given.get("other", "")), terms, wrong
