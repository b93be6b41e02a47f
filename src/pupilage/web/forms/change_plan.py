"""A plan against an unwanted behaviour: what is arranged, what it does instead, from which day."""

from typing import Any
from uuid import uuid4

from django import forms
from django.utils.translation import gettext_lazy as _

from pupilage.core.incidents.phases import PhaseKind
from pupilage.services.read_change_plan import ChangePlanPage
from pupilage.services.save_change_plan import ChangePlanEntry
from pupilage.web.forms.fields import DayField


class ChangePlanForm(forms.Form):
    """The catalogue's lines to tick, one's own to write, and the first day."""

    lines = forms.MultipleChoiceField(
        label=_("What is arranged beforehand"), required=False, widget=forms.CheckboxSelectMultiple
    )
    own = forms.CharField(
        label=_("And, in your words"),
        required=False,
        max_length=3000,
        widget=forms.Textarea(attrs={"rows": 2}),
        help_text=_("One a line. What is in place before it can happen, such as a gate, a lead, a chew."),
    )
    teach = forms.BooleanField(label=_("And it is taught and paid what it does instead"), required=False)
    gain_stops = forms.BooleanField(
        label=_("From this day it gains nothing by it"),
        required=False,
        help_text=_("No thing, no look, no game comes of it any more. Then it may try harder for some days."),
    )
    starts_on = DayField(label=_("From"))
    note = forms.CharField(label=_("Note"), required=False, max_length=1000)
    plan_id = forms.UUIDField(required=False, widget=forms.HiddenInput)

    def __init__(self, *args: Any, page: ChangePlanPage, **kwargs: Any) -> None:
        standing = page.standing
        kwargs["initial"] = {
            "lines": list(standing.arrange if standing else page.unwanted.arrange),
            "own": "\n".join(page.own_lines),
            "teach": bool(standing.replacement) if standing else page.replacement is not None,
            "gain_stops": bool(standing and standing.gain_stops),
            "starts_on": page.today,
        }
        super().__init__(*args, label_suffix="", **kwargs)
        self.page = page
        self.fields["lines"].choices = [(line, line) for line in page.unwanted.arrange]
        self.fields["plan_id"].initial = uuid4
        if page.replacement is None:
            del self.fields["teach"]

    def entry(self) -> ChangePlanEntry:
        """Return the plan as the service reads it."""
        given = self.cleaned_data
        taught = self.page.replacement if given.get("teach") else None
        return ChangePlanEntry(
            behaviour=self.page.unwanted.key,
            starts_on=given["starts_on"],
            arrange=(*given["lines"], *given["own"].splitlines()),
            replacement="" if taught is None else taught.key,
            gain_stops=given["gain_stops"],
            note=given["note"],
            plan_id=given["plan_id"],
        )


class EndPlanForm(forms.Form):
    """The day on which a plan ends."""

    ends_on = DayField(label=_("Ends on"))
    plan_id = forms.UUIDField(required=False, widget=forms.HiddenInput)

    def __init__(self, *args: Any, page: ChangePlanPage, **kwargs: Any) -> None:
        super().__init__(*args, label_suffix="", initial={"ends_on": page.today}, **kwargs)
        self.page = page
        self.fields["plan_id"].initial = uuid4

    def entry(self) -> ChangePlanEntry:
        """Return the end as the service reads it."""
        given = self.cleaned_data
        return ChangePlanEntry(self.page.unwanted.key, given["ends_on"], kind=PhaseKind.ENDED, plan_id=given["plan_id"])
