"""Cover, mix and what-if over the API: what stock lasts, what to pack of it, and other plans."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

from django.utils import timezone
from rest_framework import serializers

from boxwort.web.amounts_api import MoneyField, QuantityField
from boxwort.web.operations_api import DayAsked, Listing, Reading, not_far_off
from inventory.models.items import MEASURE_CHOICES
from planning.api.plan import PhaseSerializer
from planning.models import ChangeKind, WhatIf
from planning.queries.cover import Cover, cover
from planning.queries.mix import MixPage, mix_page
from planning.queries.what_ifs import Comparison, WhatIfRow, comparison, what_if_rows

WEEKS_OF_MIX = 4
CHANGE_KINDS = [(kind.value, kind.label) for kind in ChangeKind]


class CoverItemSerializer(serializers.Serializer[Any]):
    """An item: what is usable, how long it lasts, its class by value, and its coming weeks."""

    item_id = serializers.IntegerField()
    item = serializers.CharField(source="item_code")
    item_name = serializers.CharField()
    measure = serializers.ChoiceField(choices=MEASURE_CHOICES)
    usable = QuantityField()
    weeks_of_cover = serializers.FloatField(
        allow_null=True, help_text="Null: nothing of it is needed."
    )
    short_on = serializers.DateField(
        allow_null=True, help_text="The first day on which no lot or order serves what is needed."
    )
    value_class = serializers.ChoiceField(choices=["A", "B", "C"])
    used_value = MoneyField()
    weeks = PhaseSerializer(many=True)


class LotAtRiskSerializer(serializers.Serializer[Any]):
    """A lot that lies too long, or of which something goes off before the plan uses it."""

    lot = serializers.CharField(source="lot_code")
    item = serializers.CharField(source="item_code")
    measure = serializers.ChoiceField(choices=MEASURE_CHOICES)
    on_hand = QuantityField()
    ends_on = serializers.DateField(allow_null=True)
    last_used_on = serializers.DateField(allow_null=True)
    used = serializers.IntegerField(source="lasting.used")
    lost = serializers.IntegerField(source="lasting.lost")
    value_lost = MoneyField(source="lasting.value_lost")
    slow = serializers.BooleanField(source="lasting.slow")


class CoverSerializer(serializers.Serializer[Cover]):
    """The cover of every planned item, and the lots at risk."""

    on = serializers.DateField()
    until = serializers.DateField()
    value_at_risk = MoneyField()
    items = CoverItemSerializer(many=True, source="rows")
    lots = LotAtRiskSerializer(many=True)


class CoverNow(Reading):
    """Return how many weeks the stock of each item lasts, and the lots at risk."""

    query = DayAsked
    answer = CoverSerializer

    def found(self, **asked: Any) -> Cover:
        return cover(asked.get("on") or timezone.localdate())


class MixAsked(serializers.Serializer[Any]):
    """Until when kits are wanted; four weeks unless it is said."""

    until = serializers.DateField(required=False, validators=[not_far_off])


class MixKitSerializer(serializers.Serializer[Any]):
    """A kit of the mix."""

    kit_id = serializers.IntegerField()
    kit = serializers.CharField(source="kit_code")
    firm = serializers.IntegerField()
    firm_served = serializers.IntegerField()
    wanted = serializers.IntegerField()
    pack = serializers.IntegerField()
    planned = serializers.IntegerField(help_text="In runs that hold no stock yet.")
    earns_each = serializers.IntegerField(help_text="Ten-thousandths; it may be below zero.")


class ShortItemSerializer(serializers.Serializer[Any]):
    """An item that holds the mix back, and what one more of it would be worth, in words."""

    item = serializers.CharField(source="item_code")
    said = serializers.CharField()


class MixSerializer(serializers.Serializer[MixPage]):
    """Which kits to pack, firm orders first and then what earns the most."""

    on = serializers.DateField()
    until = serializers.DateField()
    kits = MixKitSerializer(many=True, source="rows")
    short = ShortItemSerializer(many=True)
    earns = serializers.IntegerField(help_text="Ten-thousandths of the currency.")
    bound = serializers.IntegerField(help_text="What no mix of as many firm kits can pass.")
    unserved = serializers.IntegerField()
    said = serializers.CharField()


class MixNow(Reading):
    """Return the mix of kits that stock allows until a day."""

    query = MixAsked
    answer = MixSerializer

    def found(self, **asked: Any) -> MixPage:
        today = timezone.localdate()
        until = asked.get("until") or today + timedelta(weeks=WEEKS_OF_MIX)
        return mix_page(today, max(until, today))


class WhatIfChangeSerializer(serializers.Serializer[Any]):
    """One change, in words."""

    kind = serializers.ChoiceField(choices=CHANGE_KINDS)
    about = serializers.CharField()
    said = serializers.CharField()


class WhatIfSerializer(serializers.Serializer[Any]):
    """A what-if with its changes."""

    id = serializers.IntegerField()
    name = serializers.CharField()
    note = serializers.CharField()
    changes = WhatIfChangeSerializer(many=True)


class WhatIfs(Listing):
    """List the what-ifs by name."""

    answer = WhatIfSerializer

    def rows(self, **asked: Any) -> tuple[WhatIfRow, ...]:
        return what_if_rows()


class FigureSerializer(serializers.Serializer[Any]):
    """One figure of each plan, in the order of the names; money is ten-thousandths."""

    name = serializers.CharField()
    unit = serializers.CharField()
    values = serializers.ListField(child=serializers.IntegerField())


class OrderedSerializer(serializers.Serializer[Any]):
    """What each plan orders of an item, and by when the first."""

    item = serializers.CharField(source="item_code")
    quantities = serializers.ListField(child=serializers.IntegerField())
    order_by = serializers.ListField(child=serializers.DateField(allow_null=True))


class ComparisonSerializer(serializers.Serializer[Comparison]):
    """The plan as it is beside a what-if."""

    on = serializers.DateField()
    names = serializers.ListField(child=serializers.CharField())
    figures = FigureSerializer(many=True)
    ordered_otherwise = OrderedSerializer(many=True, source="items")


class WhatIfCompared(Reading):
    """Return the plan as it is beside one what-if."""

    query = DayAsked
    answer = ComparisonSerializer

    def found(self, **asked: Any) -> Comparison:
        what_if = WhatIf.objects.get(pk=asked["what_if_id"])
        return comparison(asked.get("on") or timezone.localdate(), [what_if])
