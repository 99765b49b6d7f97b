"""Amounts in the API: exact numbers out, amounts as people write them in.

Out, a quantity of stock is ``{"quantity": 2500000, "unit": "mg", "text": "2.500 kg"}``: a whole
number of milligrams, microlitres ("uL") or pieces ("each"), and how the person who asks reads it.
In, it is ``{"amount": "2.5", "unit": "kg"}``, in any unit the trade writes. Money is a decimal
string with its currency, both ways.
"""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from typing import Any, cast

from drf_spectacular.drainage import set_override
from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from boxwort.accounts.queries import site_settings
from boxwort.quantities import UNITS, Measure, read_naturally, stocked, unit_named

STOCK_UNITS = {Measure.MASS: "mg", Measure.VOLUME: "uL", Measure.COUNT: "each"}
MONEY_DIGITS = 4
_TEN_THOUSANDTHS = 10**MONEY_DIGITS
_CENTS = Decimal("0.01")


class QuantitySerializer(serializers.Serializer[Any]):
    """A quantity of stock: exact, and as the person who asks reads it."""

    quantity = serializers.IntegerField(help_text="Whole units of stock.")
    unit = serializers.ChoiceField(choices=list(STOCK_UNITS.values()))
    text = serializers.CharField(help_text="In the units of the person who asks, rounded.")


class MoneySerializer(serializers.Serializer[Any]):
    """An amount of money."""

    amount = serializers.CharField(help_text="A decimal, with two to four decimals.")
    currency = serializers.CharField()


class AmountAsked(serializers.Serializer[Any]):
    """An amount of stock as it is written: rounded half up, once, to whole units of stock."""

    amount = serializers.DecimalField(
        max_digits=21, decimal_places=9, min_value=Decimal(0), help_text='A decimal, as in "2.5".'
    )
    unit = serializers.ChoiceField(choices=list(UNITS))


class MoneyAsked(serializers.Serializer[Any]):
    """An amount of money in the currency of the site."""

    amount = serializers.DecimalField(
        max_digits=14, decimal_places=MONEY_DIGITS, min_value=Decimal(0)
    )
    currency = serializers.CharField(max_length=3)

    def validate_currency(self, value: str) -> str:
        """Refuse a currency that the books are not kept in."""
        kept = site_settings().currency
        if value != kept:
            msg = f"The books are kept in {kept}."
            raise serializers.ValidationError(msg)
        return value


@extend_schema_field(QuantitySerializer)
class QuantityField(serializers.Field[Any, Any, Any, Any]):
    """A quantity of a row, in the measure given, or the row's own, or that of the row above."""

    def __init__(self, *, measure: Measure | None = None, **kwargs: Any) -> None:
        super().__init__(read_only=True, **kwargs)
        self.measure = measure

    def get_attribute(self, instance: Any) -> Any:
        """Return the quantity with its measure, or None where there is no quantity."""
        quantity = super().get_attribute(instance)
        if quantity is None:
            return None
        return quantity, self.measure or measure_of(instance, self.context)

    def to_representation(self, value: tuple[int, Measure]) -> dict[str, Any]:
        """Return the quantity as the module says."""
        quantity, measure = value
        system = self.context["request"].user.units
        return {
            "quantity": quantity,
            "unit": STOCK_UNITS[measure],
            "text": read_naturally(quantity, measure, system),
        }


@extend_schema_field(MoneySerializer)
class MoneyField(serializers.Field[Any, Any, Any, Any]):
    """Ten-thousandths of the site's currency as a decimal with the currency."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(read_only=True, **kwargs)

    def to_representation(self, value: int) -> dict[str, str]:
        """Return the amount; the currency is read once for an answer."""
        amount = Decimal(value).scaleb(-MONEY_DIGITS)
        cents = amount.quantize(_CENTS)
        written = f"{cents:f}" if cents == amount else f"{amount:f}".rstrip("0")
        return {"amount": written, "currency": self._currency()}

    def _currency(self) -> str:
        context = cast("dict[str, Any]", self.context)  # the whole answer's own
        if "currency" not in context:
            context["currency"] = site_settings().currency
        return str(context["currency"])


class RowsField(serializers.Field[Any, Any, Any, Any]):
    """Rows whose quantities are in the measure of the row that holds them."""

    def __init__(self, row: type[serializers.Serializer[Any]], **kwargs: Any) -> None:
        super().__init__(read_only=True, **kwargs)
        self.row = row
        set_override(self, "field", row(many=True))

    def get_attribute(self, instance: Any) -> Any:
        """Return the rows with the measure they are in."""
        return super().get_attribute(instance), measure_of(instance, self.context)

    def to_representation(self, value: tuple[Any, Measure]) -> Any:
        """Return the rows, told which measure they are in."""
        rows, measure = value
        return self.row(rows, many=True, context={**self.context, "measure": measure}).data


def measure_of(row: Any, context: Mapping[str, Any]) -> Measure:
    """Return the measure that a row's quantities are in."""
    own = row.get("measure") if isinstance(row, Mapping) else getattr(row, "measure", None)
    return Measure(own or context["measure"])


def in_stock(asked: Mapping[str, Any], measure: Measure) -> int:
    """Return an amount asked for in whole units of stock.

    Raises
    ------
    ValidationError: the unit is one of another measure, or the amount is a part of a piece.
    """
    unit, amount = unit_named(asked["unit"]), asked["amount"]
    if unit.measure is not measure:
        msg = f"This is kept by {measure.value}, and {unit.symbol} does not measure that."
        raise serializers.ValidationError({"unit": [msg]})
    if measure is Measure.COUNT and amount != int(amount):
        msg = "Write a whole number of pieces."
        raise serializers.ValidationError({"amount": [msg]})
    return stocked(amount, unit.symbol)


def in_ten_thousandths(asked: Mapping[str, Any]) -> int:
    """Return an amount of money asked for in ten-thousandths of the currency."""
    return int(asked["amount"] * _TEN_THOUSANDTHS)
