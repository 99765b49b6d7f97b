"""The ledger: postings of moves, and the balances kept beside them.

Moves and postings are inserted and never updated or deleted (``models/guards.py`` makes the
database refuse it). Balances and reserved totals are kept in the same transaction as the moves.
"""

from __future__ import annotations

from typing import ClassVar

from django.conf import settings
from django.db import models

from inventory.models.conversions import Conversion
from inventory.models.lots import Lot
from inventory.models.places import Place


class PostingKind(models.TextChoices):
    """Why stock moved."""

    OPENING = "opening", "Opening stock"
    RECEIPT = "receipt", "Receipt"
    TRANSFER = "transfer", "Moved"
    COUNT = "count", "Count"
    WASTE = "waste", "Waste"
    SAMPLE = "sample", "Sample"
    GIVEN_AWAY = "given_away", "Given away"
    CONVERSION = "conversion", "Conversion"
    DISPATCH = "dispatch", "Dispatch"
    REVERSAL = "reversal", "Reversal"


class Posting(models.Model):
    """One thing that happened to stock, whole: all its moves or none.

    ``key`` makes a repeat harmless: the same person, key and fingerprint is the same posting.
    """

    kind = models.CharField(max_length=12, choices=PostingKind.choices)
    occurred_on = models.DateField()
    recorded_at = models.DateTimeField(auto_now_add=True)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    key = models.CharField(max_length=80)
    fingerprint = models.CharField(max_length=64)
    reason = models.CharField(max_length=200, blank=True, default="")
    reverses = models.OneToOneField(
        "self", null=True, blank=True, on_delete=models.PROTECT, related_name="reversed_by"
    )
    conversion = models.ForeignKey(
        Conversion, null=True, blank=True, on_delete=models.PROTECT, related_name="postings"
    )

    class Meta:
        ordering: ClassVar = ["id"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["by", "key"], name="posting_key_once_per_person"),
            models.CheckConstraint(
                condition=models.Q(kind=PostingKind.REVERSAL, reverses__isnull=False)
                | (~models.Q(kind=PostingKind.REVERSAL) & models.Q(reverses__isnull=True)),
                name="posting_reversal_names_its_posting",
            ),
        ]

    def __str__(self) -> str:
        """Say what happened and when."""
        return f"{self.kind} on {self.occurred_on}"


class Move(models.Model):
    """A positive quantity of one lot from one place to another."""

    posting = models.ForeignKey(Posting, on_delete=models.PROTECT, related_name="moves")
    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, related_name="moves")
    quantity = models.PositiveBigIntegerField()
    from_place = models.ForeignKey(Place, on_delete=models.PROTECT, related_name="+")
    to_place = models.ForeignKey(Place, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering: ClassVar = ["id"]
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=models.Q(quantity__gt=0), name="move_quantity_positive"
            ),
            models.CheckConstraint(
                condition=~models.Q(from_place=models.F("to_place")), name="move_goes_somewhere"
            ),
        ]

    def __str__(self) -> str:
        """Say how much of what moved."""
        return f"{self.quantity} of {self.lot_id}"


class Balance(models.Model):
    """The sum of a lot's moves into a place less those out of it.

    ``holds_stock`` is copied from the place's kind so that the database itself can refuse a
    storage place below zero.
    """

    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, related_name="balances")
    place = models.ForeignKey(Place, on_delete=models.PROTECT, related_name="+")
    holds_stock = models.BooleanField()
    quantity = models.BigIntegerField(default=0)

    class Meta:
        ordering: ClassVar = ["lot", "place"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["lot", "place"], name="balance_once"),
            models.CheckConstraint(
                condition=models.Q(holds_stock=False) | models.Q(quantity__gte=0),
                name="balance_storage_not_below_zero",
            ),
        ]

    def __str__(self) -> str:
        """Say how much lies where."""
        return f"{self.quantity} of {self.lot_id} in {self.place_id}"


class LotStock(models.Model):
    """On hand (over all storage places) and reserved of one lot."""

    lot = models.OneToOneField(
        Lot, on_delete=models.PROTECT, related_name="stock", primary_key=True
    )
    on_hand = models.BigIntegerField(default=0)
    reserved = models.BigIntegerField(default=0)

    class Meta:
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=models.Q(reserved__gte=0, reserved__lte=models.F("on_hand")),
                name="lot_stock_reserved_within_on_hand",
            )
        ]

    def __str__(self) -> str:
        """Say how much there is."""
        return f"{self.on_hand} on hand, {self.reserved} reserved"
