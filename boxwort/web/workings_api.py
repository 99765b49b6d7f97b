"""A figure with its working, as the API shows it."""

from __future__ import annotations

from typing import Any

from rest_framework import serializers

from boxwort.working import Working


class TermSerializer(serializers.Serializer[Any]):
    """One number that went into a figure."""

    name = serializers.CharField()
    value = serializers.FloatField()
    unit = serializers.CharField()


class WorkingSerializer(serializers.Serializer[Working]):
    """A figure with everything needed to check it by hand; ``parts`` are figures it is made of."""

    name = serializers.CharField()
    formula = serializers.CharField()
    terms = TermSerializer(many=True)
    value = serializers.FloatField(help_text="Unrounded, in the unit.")
    unit = serializers.CharField()
    source = serializers.CharField()  # type: ignore[assignment]  # a field
    notes = serializers.ListField(child=serializers.CharField())

    def get_fields(self) -> dict[str, Any]:
        """Return the fields, with the figures it is made of in the same shape."""
        return {**super().get_fields(), "parts": WorkingSerializer(many=True)}
