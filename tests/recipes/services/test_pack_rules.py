"""When a kit is packed and sold, and how many a run makes, changes also once it is offered."""

from __future__ import annotations

from datetime import date

import pytest

from boxwort.accounts.models import History
from boxwort.errors import Refusal
from recipes.models import Kit
from recipes.services.pack_rules import PackRules
from tests.recipes import make

pytestmark = pytest.mark.django_db
SPRING, SUMMER, AUTUMN = date(2026, 3, 1), date(2026, 6, 1), date(2026, 9, 1)


def test_the_days_and_kits_of_an_offered_kit_change_and_without_rules_they_stay() -> None:
    goods = make.catalogue()
    revision = make.offered(make.pale_ale(goods))
    make.offered_kit(revision, "PALE-20", goods)
    rules = PackRules(
        first_pack_on=SPRING,
        last_pack_on=SUMMER,
        last_sale_on=AUTUMN,
        minimum_kits=12,
        multiple_kits=6,
    )
    kit = make.kit(revision, "PALE-20", goods, rules=rules)
    assert (kit.first_pack_on, kit.last_pack_on, kit.last_sale_on) == (SPRING, SUMMER, AUTUMN)
    assert (kit.minimum_kits, kit.multiple_kits) == (12, 6)
    told = History.objects.filter(thing="recipes.kit", action="write-kit").latest("pk")
    assert told.after["minimum_kits"] == 12
    make.kit(revision, "PALE-20", goods, price=1)
    assert Kit.objects.get().minimum_kits == 12
    make.kit(revision, "PALE-20", goods, rules=PackRules())
    kit = Kit.objects.get()
    assert (kit.last_sale_on, kit.minimum_kits) == (None, 1)


@pytest.mark.parametrize(
    ("rules", "field"),
    [
        (PackRules(first_pack_on=SUMMER, last_pack_on=SPRING), "last_pack_on"),
        (PackRules(last_pack_on=SUMMER, last_sale_on=SPRING), "last_sale_on"),
        (PackRules(first_pack_on=SUMMER, last_sale_on=SPRING), "last_sale_on"),
        (PackRules(minimum_kits=0), "minimum_kits"),
        (PackRules(multiple_kits=100_001), "multiple_kits"),
    ],
)
def test_what_no_kit_could_keep_to_is_refused_by_its_field(rules: PackRules, field: str) -> None:
    assert [name for name, _, _ in rules.problems()] == [field]
    with pytest.raises(Refusal) as refused:
        rules.refuse_impossible()
    assert refused.value.code == "pack-rules-impossible"


def test_a_day_by_itself_and_the_same_day_are_possible() -> None:
    for rules in (
        PackRules(first_pack_on=SPRING, last_pack_on=SPRING, last_sale_on=SPRING),
        PackRules(last_sale_on=SPRING),
        PackRules(),
    ):
        assert list(rules.problems()) == []
