"""A sheet of incidents to bring in."""

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from pupilage.core.sheets.text import MAX_BYTES


class IncidentSheetForm(forms.Form):
    """A file."""

    file = forms.FileField(label=_("The sheet, saved as CSV"), allow_empty_file=True)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, label_suffix="", **kwargs)

    def clean_file(self) -> Any:
        file = self.cleaned_data["file"]
        if file.size > MAX_BYTES:
            raise forms.ValidationError(_("The file is too large; split it."))
        return file

    def content(self) -> bytes:
        """Return what the file holds."""
        return bytes(self.cleaned_data["file"].read())
