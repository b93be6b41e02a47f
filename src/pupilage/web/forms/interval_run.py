"""Starting a run with the timer of paid stretches."""

from collections.abc import Mapping
from typing import Any
from uuid import uuid4

from django import forms
from django.utils.translation import gettext_lazy as _

from pupilage.core.incidents.interval_runs import Spacing
from pupilage.services.start_interval_run import RunStart
from pupilage.web.forms.fields import FigureField, WholeField

FROM_LOG, COUNTED = "log", "counted"
SPACINGS = [(Spacing.FIXED.value, _("all alike")), (Spacing.VARIABLE.value, _("varied around a mean"))]


class RunForm(forms.Form):
    """What is timed, how the stretches are spaced, and how often it came before."""

    spacing = forms.ChoiceField(
        label=_("The stretches"), choices=SPACINGS, widget=forms.RadioSelect, initial=Spacing.FIXED.value
    )
    n = WholeField(label=_("It came so often"), required=False)
    minutes = FigureField(label=_("in so many minutes"), required=False)
    run_id = forms.UUIDField(required=False, widget=forms.HiddenInput)

    def __init__(self, *args: Any, targets: Mapping[str, str], **kwargs: Any) -> None:
        super().__init__(*args, label_suffix="", **kwargs)
        self.targets = targets
        self.fields["run_id"].initial = uuid4

    def clean(self) -> dict[str, Any]:
        """Refuse a count with half of it missing."""
        given = super().clean() or self.cleaned_data
        for name in ("n", "minutes"):
            if given.get(name) is None and name not in self.errors:
                self.add_error(name, _("Give a figure from a short count without the timer, such as 12 in 30 minutes."))
        return given

    def start(self, target: str, *, from_log: bool = False) -> RunStart:
        """Return what a run starts with, from a short count."""
        given = self.cleaned_data
        return RunStart(target, Spacing(given["spacing"]), given["n"], given["minutes"], from_log, given["run_id"])
