"""What a family taps, and what a trainer chooses and writes for them."""

from datetime import UTC, datetime
from typing import Any
from uuid import UUID, uuid4, uuid5

from django import forms
from django.utils.translation import gettext_lazy as _

from pupilage.core.errors import InvalidInput
from pupilage.core.handover.family_log import EntryKind
from pupilage.core.handover.family_parts import Part
from pupilage.reports.pack.options import usual_language
from pupilage.services.log_family_entry import FamilyTap
from pupilage.services.save_family_page import Choices
from pupilage.services.share_family_page import USUAL_WEEKS, NewLink
from pupilage.web.forms.fields import MomentField, WholeField


class FamilyTapForm:
    """One tap, read from a plain form: every odd value ends in a sentence, none in an error of ours."""

    def __init__(self, given: Any) -> None:
        self.given = given

    def taken_back(self) -> UUID | None:
        """Return the entry that is taken back, None for an ordinary tap."""
        return self._uuid("take_back")

    def tap(self, now: datetime) -> FamilyTap:
        """Return what was tapped. The same tap of the same page has the same id; another tap of it has another.

        Raises InvalidInput for a kind or a time that cannot be read.
        """
        given = self.given
        kind = given.get("kind", "")
        if kind not in set(EntryKind) - {EntryKind.WITHDRAWN}:
            raise InvalidInput.of("kind", "Choose what it was from the list, please.")
        n_met, of_n = self._tries()
        subject, week, note = given.get("subject", ""), self._whole("week"), given.get("note", "")
        at = self._at() or now
        parts = (kind, subject, n_met, of_n, week, note, given.get("at", ""))
        page = self._uuid("entry") or uuid4()
        entry_id = uuid5(page, "/".join(str(part) for part in parts))
        return FamilyTap(EntryKind(kind), at, subject[:60], n_met, of_n, week, note, entry_id)

    def _tries(self) -> tuple[int, int]:
        """Return met and tries, from `tries` as "2/3"; -1 for what cannot be read, which the service refuses."""
        met, _, n = self.given.get("tries", "").partition("/")
        return (int(met), int(n)) if met.isdecimal() and n.isdecimal() and len(met + n) < 8 else (0, 0)

    def _at(self) -> datetime | None:
        """Return the moment: the one that a script kept when there was no net, or the local one that was typed."""
        if kept := self.given.get("at_utc", ""):
            try:
                moment = datetime.fromisoformat(kept.replace("Z", "+00:00"))
                return moment.astimezone(UTC) if moment.tzinfo else None
            except ValueError:
                return None
        if not self.given.get("at", "").strip():
            return None
        try:
            return MomentField(required=False).clean(self.given["at"])
        except forms.ValidationError:
            raise InvalidInput.of("at", "This time cannot be read; choose a day and a time.") from None

    def _whole(self, name: str) -> int | None:
        value = self.given.get(name, "")
        return int(value) if value.isdecimal() and len(value) < 4 else None

    def _uuid(self, name: str) -> UUID | None:
        try:
            return UUID(self.given.get(name, ""))
        except ValueError:
            return None


class PlainForm(forms.Form):
    """A form whose labels stand without a colon."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, label_suffix="", **kwargs)


class LinkForm(PlainForm):
    """A link to be made."""

    for_whom = forms.CharField(
        label=_("For whom"), help_text=_("Only you see this name, and it marks what they write.")
    )
    allows = forms.ChoiceField(
        label=_("It allows"), choices=[("read", _("to read")), ("write", _("to read and write down"))], initial="write"
    )
    weeks = WholeField(
        label=_("Weeks after the hand-over"), initial=USUAL_WEEKS, help_text=_("From 1 to 52; then it stops by itself.")
    )
    language = forms.ChoiceField(label=_("Language"), choices=[("en", "English"), ("de", "Deutsch")])

    @classmethod
    def usual(cls, language: str, family: str) -> "LinkForm":
        """Return the form as the workspace would have it."""
        return cls(initial={"language": usual_language(language).value, "for_whom": family, "allows": "write",
                            "weeks": USUAL_WEEKS})  # fmt: skip

    def new(self) -> NewLink:
        given = self.cleaned_data
        return NewLink(given["for_whom"], given["allows"] == "write", given["weeks"], given["language"])


PARTS = [
    (Part.TODAY, _("What it can do")),
    (Part.NUMBERS, _("Numbers of tries")),
    (Part.NEXT, _("What is next")),
    (Part.HOME, _("What to do at home")),
    (Part.OUTINGS, _("Out to the toilet")),
    (Part.FOOD, _("Food")),
    (Part.SAFETY, _("When to call the vet")),
    (Part.MEDIA, _("Pictures and clips")),
]


class ChoicesForm(PlainForm):
    """What is shown: everything that is ticked."""

    words = forms.CharField(
        label=_("Your words at the top"), required=False, strip=False, widget=forms.Textarea(attrs={"rows": 4})
    )
    parts = forms.MultipleChoiceField(
        label=_("Parts that are shown"), required=False, choices=PARTS, widget=forms.CheckboxSelectMultiple
    )
    behaviours = forms.MultipleChoiceField(
        label=_("Behaviours that are shown"), required=False, widget=forms.CheckboxSelectMultiple
    )

    def __init__(self, *args: Any, behaviours: tuple[tuple[str, str], ...], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.keys = [key for key, _name in behaviours]
        self.fields["behaviours"].choices = behaviours

    @classmethod
    def of(cls, choices: Choices, behaviours: tuple[tuple[str, str], ...]) -> "ChoicesForm":
        shown = [key for key, _name in behaviours if key not in choices.behaviours_left_out]
        parts = [part.value for part in Part if part not in choices.parts_left_out]
        return cls(initial={"words": choices.words, "parts": parts, "behaviours": shown}, behaviours=behaviours)

    def choices(self) -> Choices:
        given = self.cleaned_data
        return Choices(
            frozenset(part for part in Part if part.value not in given["parts"]),
            frozenset(key for key in self.keys if key not in given["behaviours"]),
            given["words"],
        )


class MediaForm(PlainForm):
    """A picture or a clip to be added."""

    file = forms.FileField(
        label=_("Picture or clip"),
        widget=forms.ClearableFileInput(
            attrs={"accept": "image/jpeg,image/png,image/webp,image/gif,video/mp4,video/quicktime,video/webm"}
        ),
        help_text=_("JPEG, PNG, WebP or GIF up to 20 MB; MP4, MOV or WebM up to 80 MB and 30 seconds."),
        error_messages={"required": _("No file was chosen."), "empty": _("This file is empty; choose another one.")},
    )
    words = forms.CharField(label=_("What it shows"), required=False, max_length=200)
    with_sound = forms.BooleanField(label=_("A clip keeps its sound"), required=False)
