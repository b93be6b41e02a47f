"""The timetable's taps, the frame of a day, and the trainer's appointments."""

from datetime import UTC, time
from typing import Any
from uuid import UUID, uuid5

from django import forms
from django.utils.translation import gettext_lazy as _

from pupilage.core.care.events import CareDetail
from pupilage.core.planning.day.blocks import BlockState
from pupilage.core.planning.day.preferences import MAX_WEIGHT, DayPreferences
from pupilage.core.planning.day.rules import DEFAULT_WEIGHTS, SoftRule
from pupilage.services.log_happening import Happened
from pupilage.services.mark_block import Mark
from pupilage.services.save_appointment import NewAppointment
from pupilage.web.forms.fields import FigureField, MomentField, WholeField

_WORDS = {
    "meal-left-out": _("A late meal that fits no more"),
    "session-left-out": _("A session left out"),
    "exposure-left-out": _("Something to meet left out"),
    "play-left-out": _("A bout of play left out"),
    "resident-time": _("Too little time for the dog that lives here"),
    "quiet-hours": _("Play in the quiet hours"),
    "meal-times": _("A meal away from its usual time"),
    "sessions-spread": _("Sessions close together"),
    "session-after-waking": _("A session just after waking"),
    "chew-before-nap": _("A nap with nothing to chew before it"),
    "nap-length": _("A nap shorter or longer than usual"),
    "awake-short": _("Awake more briefly than usual"),
    "awake-long": _("Awake longer than usual"),
    "fewer-outings": _("An outing more than the fewest"),
    "keep-plan": _("A change of what was planned before"),
}
RULE_WORDS = {rule: _WORDS[rule.value] for rule in SoftRule}
"""The soft rules as a trainer reads them: what it costs when the day cannot keep them."""

OUTSIDE = ("wee", "poo", "both", "nothing")


class PlanForm(forms.Form):
    """Which plan is asked for: of which day, the first at once or a better one, and for which page."""

    day = forms.DateField(required=False)
    first = forms.BooleanField(required=False)
    sheet = forms.BooleanField(required=False)


class MarkForm(forms.Form):
    """A tick on a block: done (of an outing, with what was done), skipped, later, or taken back."""

    day = forms.DateField()
    key = forms.CharField(max_length=40)
    done = forms.ChoiceField(required=False, choices=[(one, one) for one in ("yes", *OUTSIDE)])
    skipped = forms.BooleanField(required=False)
    later = forms.BooleanField(required=False)
    back = forms.BooleanField(required=False)

    def clean(self) -> dict[str, Any]:
        given = super().clean() or {}
        if sum(bool(given.get(name)) for name in ("done", "skipped", "later", "back")) != 1:
            raise forms.ValidationError("One of done, skipped, later and back.", code="unclear")
        return given

    def mark(self) -> Mark:
        """Return the mark as the service reads it."""
        given = self.cleaned_data
        if given["back"]:
            return Mark(given["key"], BlockState.PLANNED)
        if given["skipped"]:
            return Mark(given["key"], BlockState.SKIPPED)
        detail = CareDetail(given["done"]) if given["done"] in OUTSIDE else CareDetail.PLAIN
        return Mark(given["key"], BlockState.DONE, detail)


class HappenedForm(forms.Form):
    """Something that was not planned."""

    day = forms.DateField()
    happened = forms.TypedChoiceField(choices=[(one.value, one.value) for one in Happened], coerce=Happened)
    event_id = forms.UUIDField(required=False)

    def event_id_of(self) -> UUID | None:
        """Return the id of the entry: the same button tapped twice on one showing of the page is one entry."""
        nonce = self.cleaned_data["event_id"]
        return uuid5(nonce, self.cleaned_data["happened"].value) if nonce else None


class ClockField(forms.TimeField):
    """A time of day, chosen with the device's own picker."""

    default_error_messages = {"invalid": _("Give a time of day, such as 06:30.")}

    def __init__(self, **kwargs: Any) -> None:
        kwargs.setdefault("widget", forms.TimeInput(format="%H:%M", attrs={"type": "time", "step": "300"}))
        kwargs.setdefault("input_formats", ["%H:%M", "%H:%M:%S"])
        super().__init__(**kwargs)


class FrameForm(forms.Form):
    """How the days of a stay usually run."""

    wake = ClockField(label=_("Waking"))
    last_outing = ClockField(label=_("Last outing"))
    meals = forms.CharField(
        label=_("Usual meal times"),
        required=False,
        max_length=60,
        help_text=_("Such as 07:00 12:00 17:30. Left empty: as many as the pup's age asks for, spread over the day."),
    )
    quiet_from = ClockField(label=_("Quiet from"), required=False)
    quiet_until = ClockField(label=_("Quiet until"), required=False, help_text=_("Nothing loud is played then."))
    resident_min = WholeField(label=_("Minutes a day for the dog that lives here"), required=False)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, label_suffix="", **kwargs)
        for rule, words in RULE_WORDS.items():
            self.fields[_weight_name(rule)] = FigureField(
                label=words, required=False, min_value=0, max_value=MAX_WEIGHT
            )

    @property
    def weight_fields(self) -> list[forms.BoundField]:
        """The fields for what matters how much, for the template to fold."""
        return [self[_weight_name(rule)] for rule in RULE_WORDS]

    @property
    def wrong_weights(self) -> bool:
        """Whether something is wrong among them, so that they must not be folded away."""
        return any(field.errors for field in self.weight_fields)

    @classmethod
    def initial_of(cls, chosen: DayPreferences) -> dict[str, Any]:
        """Return what the form shows of preferences."""
        quiet_from, quiet_until = chosen.quiet[0] if chosen.quiet else (None, None)
        return {
            "wake": chosen.wake,
            "last_outing": chosen.last_outing,
            "meals": " ".join(at.strftime("%H:%M") for at in chosen.meals),
            "quiet_from": quiet_from,
            "quiet_until": quiet_until,
            "resident_min": chosen.resident_min,
            **{_weight_name(rule): _shown(chosen.weights.get(rule, DEFAULT_WEIGHTS[rule])) for rule in RULE_WORDS},
        }

    def clean_meals(self) -> tuple[time, ...]:
        words = self.cleaned_data["meals"].replace(",", " ").replace(";", " ").split()
        try:
            return tuple(sorted(time.fromisoformat(word.zfill(5)) for word in words))
        except ValueError:
            raise forms.ValidationError(_("Give times of day, such as 07:00 12:00 17:30."), code="invalid") from None

    def clean(self) -> dict[str, Any]:
        given = super().clean() or {}
        if (given.get("quiet_from") is None) != (given.get("quiet_until") is None) and not self.errors:
            self.add_error("quiet_until", _("Give both times of the quiet, or neither."))
        return given

    def preferences(self, before: DayPreferences) -> DayPreferences:
        """Return the preferences; what is left empty is as shipped. Raises InvalidInput."""
        given = self.cleaned_data
        quiet = ((given["quiet_from"], given["quiet_until"]),) if given["quiet_from"] else ()
        resident_min = given["resident_min"]
        return DayPreferences(
            wake=given["wake"],
            last_outing=given["last_outing"],
            quiet=(*quiet, *before.quiet[1:]),
            meals=given["meals"],
            resident_min=before.resident_min if resident_min is None else resident_min,
            weights={
                rule.value: weight
                for rule in RULE_WORDS
                if (weight := given[_weight_name(rule)]) is not None and weight != DEFAULT_WEIGHTS[rule]
            },
        )


def _weight_name(rule: SoftRule) -> str:
    return f"weight-{rule.value}"


def _shown(weight: float) -> str:
    return f"{weight:g}"


class AppointmentForm(forms.Form):
    """When the trainer is busy."""

    appointment = forms.UUIDField(required=False, widget=forms.HiddenInput)
    starts_at = MomentField(label=_("From"))
    ends_at = MomentField(label=_("Until"))
    words = forms.CharField(label=_("What"), required=False, max_length=120)
    comes_along = forms.BooleanField(label=_("The pup comes along"), required=False)
    covered = forms.BooleanField(label=_("Somebody else takes the pup out meanwhile"), required=False)
    whole_day = forms.BooleanField(
        label=_("A day off"), required=False, help_text=_("No sessions that day; meals, naps and outings stay.")
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, label_suffix="", **kwargs)

    def new(self) -> NewAppointment:
        """Return the appointment as the service reads it."""
        given = self.cleaned_data
        return NewAppointment(
            starts_at=given["starts_at"].astimezone(UTC),
            ends_at=given["ends_at"].astimezone(UTC),
            words=given["words"],
            comes_along=given["comes_along"],
            covered=given["covered"],
            whole_day=given["whole_day"],
            id=given["appointment"],
        )
