"""Codes that go on labels: A-Z, 0-9 and hyphen, at most twenty characters (GS1 batch length)."""

from django.core.validators import RegexValidator
from django.db import models

CODE_LENGTH = 20
code_validator = RegexValidator(
    r"^[A-Z0-9][A-Z0-9-]{0,19}$",
    "Write a code of 1 to 20 characters from A-Z, 0-9 and hyphen.",
)


def code_field() -> "models.CharField[str, str]":
    """Return the field of a code that names one thing for good."""
    return models.CharField(max_length=CODE_LENGTH, unique=True, validators=[code_validator])
