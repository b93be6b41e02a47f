"""The frame of a stay."""

from django import forms
from django.utils.translation import gettext_lazy as _

from pupilage.services.change_stay import Stay
from pupilage.web.forms.fields import DayField, DaysField, WholeField


class StayForm(forms.Form):
    """Arrival, hand-over, sessions a day, days off."""

    arrival_on = DayField(label=_("Arrival"))
    handover_on = DayField(label=_("Hand-over"))
    sessions_a_day = WholeField(label=_("Short sessions a day"))
    days_off = DaysField(
        label=_("Days off"), help_text=_("Days without training, such as 2026-05-12, 2026-05-17. Care goes on.")
    )

    def stay(self) -> Stay:
        """Return what was given."""
        given = self.cleaned_data
        return Stay(given["arrival_on"], given["handover_on"], given["sessions_a_day"], given["days_off"])
