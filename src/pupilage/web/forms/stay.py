"""The frame of a stay."""

from django import forms
from django.utils.translation import gettext_lazy as _

from pupilage.services.change_stay import Stay
from pupilage.web.forms.fields import DayField, DaysField, WholeField


class StayForm(forms.Form):
    """Arrival, hand-over, sessions a day, days off, the risk between outings in per cent."""

    arrival_on = DayField(label=_("Arrival"))
    handover_on = DayField(label=_("Hand-over"))
    sessions_a_day = WholeField(label=_("Short sessions a day"))
    minutes_a_day = WholeField(
        label=_("Minutes a day for training and meeting the world"),
        help_text=_("Yours, 5 to 600. Left empty: as many as it takes."),
        required=False,
    )
    outing_risk = WholeField(
        label=_("Accidents you accept, in 100 times between two outings"),
        help_text=_(
            "1 to 20. With 5 the pup goes out before the chance of an accident since the last outing passes 5 %."
        ),
        required=False,
    )
    days_off = DaysField(
        label=_("Days off"), help_text=_("Days without training, such as 2026-05-12, 2026-05-17. Care goes on.")
    )

    def stay(self) -> Stay:
        """Return what was given."""
        given = self.cleaned_data
        percent = given["outing_risk"]
        return Stay(
            given["arrival_on"],
            given["handover_on"],
            given["sessions_a_day"],
            outing_risk=None if percent is None else percent / 100.0,
            days_off=given["days_off"],
            minutes_a_day=given["minutes_a_day"] or 0,
        )
