"""The bill of a number of kits."""

from __future__ import annotations

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from hypothesis import given
from hypothesis import strategies as st

from boxwort.errors import Refusal
from boxwort.quantities import Measure
from inventory.models import ItemKind
from recipes.queries.bills import BillRow, bill_for, bill_of, totals
from recipes.services.kits import PartFacts
from tests.recipes import make


@pytest.fixture
def kit(db):
    goods = make.catalogue()
    return make.offered_kit(make.offered(make.pale_ale(goods)), "PALE-20", goods)


def test_the_bill_of_n_kits_is_n_times_what_is_packed_and_overage_on_top(kit):
    rows = {row.key: row for row in bill_for(kit.pk, 24)}
    hop = rows["hop-1"]
    # 36.3 g packed as 36.5 g, 24 times, and 2 % for dust
    assert (hop.per_kit, hop.overage, hop.total) == (36_500, 17_520, 893_520)
    assert hop.reason == (
        "36.3 g packed as 36.5 g: the pouch scale goes in steps of 0.5 g; "
        "17.52 g more for losses of 2 %"
    )
    assert (rows["malt-1"].overage, rows["malt-1"].total) == (0, make.kg(2.7 * 24))


def test_one_yeast_is_packed_the_usual_unless_another_is_chosen(kit):
    dry = next(row for row in bill_of(kit.pk) if row.item_code == "DRY-ALE")
    assert [r.item_code for r in bill_for(kit.pk, 3) if r.is_yeast_option] == ["ALE"]
    chosen = [r for r in bill_for(kit.pk, 3, dry.item_id) if r.is_yeast_option]
    assert [(row.item_code, row.key, row.total) for row in chosen] == [("DRY-ALE", "yeast-2", 3)]


def test_a_yeast_that_is_no_option_is_refused_with_the_options(kit):
    with pytest.raises(Refusal) as refused:
        bill_for(kit.pk, 3, make.liquid_yeast("LAGER").pk)
    assert refused.value.code == "not-a-yeast-option"
    assert refused.value.remedy == "Choose one of ALE, DRY-ALE."


@pytest.mark.django_db
def test_a_kit_that_is_not_offered_has_no_bill_to_multiply():
    goods = make.catalogue()
    draft = make.kit(make.pale_ale(goods), "PALE-20", goods)
    with pytest.raises(Refusal) as refused:
        bill_for(draft.pk, 3)
    assert refused.value.code == "kit-not-offered"


@pytest.mark.django_db
@pytest.mark.parametrize("parts", [1, 30])
def test_a_long_bill_takes_one_statement(parts):
    goods = make.catalogue()
    labels = [
        PartFacts(item=make.item(f"LABEL-{n}", ItemKind.PRINTED, Measure.COUNT), quantity=1)
        for n in range(parts)
    ]
    kit = make.offered_kit(make.offered(make.pale_ale(goods)), "PALE-20", goods, parts=labels)
    with CaptureQueriesContext(connection) as statements:
        assert len(bill_for(kit.pk, 10)) == 7 + parts
    assert len(statements) == 1


@given(
    packed=st.integers(1, 10**8),
    overage=st.floats(0, 0.5),
    kits=st.integers(0, 10_000),
)
def test_totals_hold_every_kit_and_no_more_overage_than_the_share(packed, overage, kits):
    row = BillRow(
        bill_line_id=1, line_id=1, key="malt-1", position=1, item_id=1, item_code="PALE",
        item_name="Pale", item_kind="grain", measure=Measure.MASS, use="mash", minutes=0,
        part="packed", exact=float(packed), packed=packed, reason="", overage=overage, role="",
        reference_alpha=None, ibu_per_gram=None, is_yeast_option=False,
    )  # fmt: skip
    (total,) = totals([row], kits)
    assert total.total == packed * kits + total.overage
    assert total.overage - 1 <= packed * kits * overage <= total.overage + 1e-6
