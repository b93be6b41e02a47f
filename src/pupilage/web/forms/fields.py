"""Fields that forgive how people type: a decimal comma, a weight in pounds, a local moment."""

from collections.abc import Sequence
from datetime import UTC, date, datetime
from typing import Any

from django import forms
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from pupilage.core.units import WeightUnit, to_kg


class FigureField(forms.FloatField):
    """A number with a decimal point or a decimal comma."""

    default_error_messages = {"invalid": _("Give a number, such as 4.2.")}

    def __init__(self, **kwargs: Any) -> None:
        kwargs.setdefault("widget", forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"}))
        super().__init__(**kwargs)

    def to_python(self, value: Any) -> float | None:
        if isinstance(value, str) and "," in value and "." not in value:
            value = value.replace(",", ".")
        return super().to_python(value)


class WholeField(forms.IntegerField):
    """A whole number, typed on a phone's number pad."""

    default_error_messages = {"invalid": _("Give a whole number.")}

    def __init__(self, **kwargs: Any) -> None:
        kwargs.setdefault("widget", forms.TextInput(attrs={"inputmode": "numeric", "autocomplete": "off"}))
        super().__init__(**kwargs)


class DayField(forms.DateField):
    """A calendar day, chosen with the device's own picker."""

    default_error_messages = {"invalid": _("Give a day, such as 2026-05-12.")}

    def __init__(self, **kwargs: Any) -> None:
        kwargs.setdefault("widget", forms.DateInput(format="%Y-%m-%d", attrs={"type": "date"}))
        kwargs.setdefault("input_formats", ["%Y-%m-%d"])
        super().__init__(**kwargs)


class DaysField(forms.CharField):
    """Calendar days, typed with commas or spaces between; none is an answer too."""

    default_error_messages = {"invalid": _("Give days such as 2026-05-12, 2026-05-17.")}

    def __init__(self, **kwargs: Any) -> None:
        kwargs.setdefault("widget", forms.TextInput(attrs={"autocomplete": "off"}))
        super().__init__(required=False, **kwargs)

    def prepare_value(self, value: Any) -> Any:
        return ", ".join(value) if isinstance(value, list | tuple) else value

    def to_python(self, value: Any) -> tuple[date, ...]:
        try:
            return tuple(sorted({date.fromisoformat(part) for part in str(value or "").replace(",", " ").split()}))
        except ValueError as error:
            raise forms.ValidationError(self.error_messages["invalid"], code="invalid") from error


class MomentField(forms.DateTimeField):
    """A local moment. In the hour that comes twice in autumn, the first one is meant."""

    default_error_messages = {
        "invalid": _("Give a day and a time."),
        "imaginary": _("The clocks skipped this hour that night; give the time an hour later."),
    }

    def __init__(self, **kwargs: Any) -> None:
        kwargs.setdefault("widget", forms.DateTimeInput(format="%Y-%m-%dT%H:%M", attrs={"type": "datetime-local"}))
        kwargs.setdefault("input_formats", ["%Y-%m-%dT%H:%M", "%Y-%m-%dT%H:%M:%S", "%Y-%m-%d %H:%M"])
        super().__init__(**kwargs)

    def to_python(self, value: Any) -> datetime | None:
        if value in self.empty_values:
            return None
        for template in self.input_formats:
            try:
                naive = datetime.strptime(str(value).strip(), template)  # noqa: DTZ007  the zone comes next
                break
            except ValueError:
                continue
        else:
            raise forms.ValidationError(self.error_messages["invalid"], code="invalid")
        return self._in_zone(naive)

    def _in_zone(self, naive: datetime) -> datetime:
        zone = timezone.get_current_timezone()
        aware = naive.replace(tzinfo=zone)
        if aware.astimezone(UTC).astimezone(zone).replace(tzinfo=None) != naive:
            raise forms.ValidationError(self.error_messages["imaginary"], code="imaginary")
        return aware


def weight_in_kg(value: float | None, unit: WeightUnit) -> float | None:
    """Return a weight typed in the workspace's unit, in kilograms."""
    return None if value is None else to_kg(value, unit)


class NameWithOffers(forms.TextInput):
    """A name to type, with the names used before on offer; the browser shows them as one types."""

    template_name = "pupilage/parts/name_with_offers.html"

    def __init__(self, offers: Sequence[str], attrs: dict[str, Any] | None = None) -> None:
        super().__init__(attrs={"autocomplete": "off"} | (attrs or {}))
        self.offers = tuple(offers)

    def get_context(self, name: str, value: Any, attrs: dict[str, Any] | None) -> dict[str, Any]:
        context = super().get_context(name, value, attrs)
        own = context["widget"]
        if self.offers:
            own["offers"], own["list_id"] = self.offers, f"{own['attrs'].get('id', name)}_offers"
            own["attrs"]["list"] = own["list_id"]
        return context
