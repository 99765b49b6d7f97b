"""The form of an act that is confirmed with a reason, from the version a person started from."""

from __future__ import annotations

from functools import partial
from typing import Any

from django import forms

REASON_LENGTH = 200


class VersionForm(forms.Form):
    """The version a person started from."""

    version = forms.IntegerField(widget=forms.HiddenInput)


class ReasonForm(VersionForm):
    """Why something is done that cannot be seen from what is done."""

    reason = forms.CharField(
        max_length=REASON_LENGTH,
        error_messages={"required": "Write why in a few words; it stays with the record."},
    )

    def __init__(self, *args: Any, asked: str, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["reason"].label = asked


def reason_form(version: int, asked: str) -> partial[ReasonForm]:
    """Return what makes the form: ``asked`` is what it asks, such as "Why it is undone"."""
    return partial(ReasonForm, asked=asked, initial={"version": version})
