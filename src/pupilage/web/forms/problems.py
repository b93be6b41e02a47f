"""Putting what a service refuses beside the fields it is about."""

from collections.abc import Mapping

from django import forms

from pupilage.core.errors import InvalidInput
from pupilage.web.words import said


def add_problems(form: forms.BaseForm, error: InvalidInput, fields: Mapping[str, str] | None = None) -> None:
    """Add every problem to its field; one whose field the form does not show goes to the top of the form.

    fields: the form's names for places that the service names otherwise.
    """
    for problem in error.problems:
        name = (fields or {}).get(problem.where, problem.where)
        form.add_error(name if name in form.fields else None, said(problem.sentence))
