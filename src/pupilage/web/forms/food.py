"""Asking about food: what training wants of the day, what the pup likes best, what it has eaten."""

from collections.abc import Sequence
from typing import Any

from django import forms
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from pupilage.core.care.food.doses import list_eaten
from pupilage.core.care.food.energy import EnergyMethod
from pupilage.core.care.food.rewards import Reward
from pupilage.core.units import WeightUnit, from_kg
from pupilage.services.read_eaten import EatenQuestion, WhoAte
from pupilage.services.read_ration import MethodLine, RationPage, Wanted
from pupilage.web.food_words import METHOD_WORDS
from pupilage.web.forms.fields import FigureField, WholeField, weight_in_kg


class WantedForm(forms.Form):
    """How many sessions today's food is to pay, how long, how richly."""

    sessions = WholeField(label=_("Sessions"), min_value=0, max_value=12)
    minutes = FigureField(label=_("Minutes each"), min_value=0.5, max_value=30)
    rate = FigureField(label=_("Rewards a minute"), min_value=1, max_value=30)

    def __init__(self, given: Any, *, page: RationPage) -> None:
        plan = page.plan
        initial = {"sessions": plan.n_sessions, "minutes": plan.minutes, "rate": plan.rate_per_min}
        super().__init__(given, label_suffix="", initial=initial)

    def wanted(self) -> Wanted:
        """Return what is wanted."""
        given = self.cleaned_data
        return Wanted(given["sessions"], given["minutes"], given["rate"])


class MethodForm(forms.Form):
    """By which method the pup is fed."""

    method = forms.ChoiceField(label=_("Feed by"))

    def __init__(self, *args: Any, lines: Sequence[MethodLine], **kwargs: Any) -> None:
        super().__init__(*args, label_suffix="", **kwargs)
        offered = [line for line in lines if line.grams is not None]
        self.fields["method"].choices = [
            (
                line.method.value,
                gettext("{method}: {grams} g").format(method=METHOD_WORDS[line.method], grams=round(line.grams or 0)),
            )
            for line in offered
        ]

    def chosen(self) -> EnergyMethod:
        """Return the method."""
        return EnergyMethod(self.cleaned_data["method"])


class MoveForm(forms.Form):
    """The grams that a person saw when they tapped."""

    from_g = FigureField(required=False)


class LikesForm(forms.Form):
    """A rank for each reinforcer; 1 is what the pup likes best."""

    def __init__(self, *args: Any, rewards: Sequence[Reward], **kwargs: Any) -> None:
        super().__init__(*args, label_suffix="", prefix="like", **kwargs)
        for reward in rewards:
            self.fields[reward.name] = WholeField(
                label=reward.name, required=False, min_value=1, max_value=99, initial=reward.rank
            )

    def ranks(self) -> dict[str, int | None]:
        """Return the rank of each reinforcer by its name."""
        return dict(self.cleaned_data)


class EatenForm(forms.Form):
    """What a dog has eaten, how much, and what it weighs."""

    what = forms.ChoiceField(label=_("What"))
    amount = FigureField(
        label=_("How much"),
        required=False,
        help_text=_("In grams; chewing gum in pieces. The most it may have been. Unknown: leave it empty."),
    )
    dog = forms.ChoiceField(label=_("Which dog"), required=False)
    weight = FigureField(label=_("Weight"), required=False)

    def __init__(self, given: Any, *, dogs: Sequence[WhoAte], unit: WeightUnit) -> None:
        super().__init__(given, label_suffix="")
        self.unit = unit
        self.fields["what"].choices = [("", _("choose")), *((one.key, one.name) for one in list_eaten())]
        self.fields["dog"].choices = [(str(dog.id), _dog_words(dog, unit)) for dog in dogs] or [("", _("not said"))]
        self.fields["weight"].label = gettext("Its weight today, in {unit}").format(unit=unit.value)
        self.fields["weight"].help_text = gettext("Left empty: its last weighing.")

    def question(self) -> EatenQuestion:
        """Return the question as the service reads it."""
        given = self.cleaned_data
        return EatenQuestion(
            what=given["what"],
            amount=given["amount"],
            dog_id=given["dog"] or None,
            weight_kg=weight_in_kg(given["weight"], self.unit),
        )


def _dog_words(dog: WhoAte, unit: WeightUnit) -> str:
    if dog.weight_kg is None:
        return gettext("{dog}, not weighed").format(dog=dog.name)
    return f"{dog.name}, {from_kg(dog.weight_kg, unit):.1f} {unit.value}"
