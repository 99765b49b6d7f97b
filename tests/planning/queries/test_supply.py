"""What a kit asks of stock, in the words that plans, proposals and refusals use."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from types import SimpleNamespace

import pytest

from boxwort.accounts.models import SiteSettings
from planning.models import Batch
from planning.queries.cuts import run_plan
from planning.queries.rebalancing import change_of
from planning.queries.supply import bound_lots, hop_line, house, kit_needs, stock_for
from recipes.brewing.roles import Use
from recipes.models import Part
from recipes.queries.bills import BillRow, bill_of
from tests.planning.make import PACK_ON, grams, store

pytestmark = pytest.mark.django_db


@pytest.fixture
def hop() -> BillRow:
    """Return a hop of a kit's bill."""
    return next(row for row in bill_of(store().kit.pk) if row.role)


@pytest.mark.parametrize(
    ("use", "minutes", "said"),
    [
        (Use.BOIL, 60, "Bitter at 60 min"),
        (Use.BOIL, 0, "Bitter at the end of the boil"),
        (Use.FIRST_WORT, 0, "Bitter in the first wort"),
        (Use.FLAME_OUT, 0, "Bitter at flame-out"),
        (Use.WHIRLPOOL, 20, "Bitter in the hop stand for 20 min"),
        (Use.WHIRLPOOL, 0, "Bitter in the hop stand"),
        (Use.MASH, 0, "Bitter in the mash"),
        (Use.DRY_HOP, 0, "Bitter as dry hop"),
    ],
)
def test_an_addition_is_named_by_when_it_goes_in(
    hop: BillRow, use: Use, minutes: int, said: str
) -> None:
    assert hop_line(replace(hop, use=use, minutes=minutes)).name == said


def test_a_run_is_cut_by_the_most_that_the_house_lets_a_hop_weigh(today_stands_still) -> None:
    made = store(hops=False)
    made.lot(made.goods.bittering, grams(3000), alpha=0.03)
    made.lot(made.goods.aroma, grams(3000), alpha=0.06)
    run = made.plan(5)
    held = run_plan(run)
    assert not held.complete
    assert "more than 2 times" in " ".join(held.lines[0].limits)
    SiteSettings.objects.update(most_multiple=4.0)
    assert run_plan(run).complete


def test_a_batch_is_balanced_again_by_the_most_of_the_house(today_stands_still) -> None:
    made = store()
    made.reserved(5)
    made.analysed(made.goods.bittering.lots.get(), 0.06)
    batch = Batch.objects.get()
    assert change_of(batch).impossible == ""
    SiteSettings.objects.update(most_multiple=1.2)
    assert "more than 1.2 times" in change_of(batch).impossible


def test_what_lifts_a_limit_is_reckoned_with_the_most_of_the_house(today_stands_still) -> None:
    made = store(hops=False)
    made.lot(made.goods.bittering, grams(3000), alpha=0.03)
    made.lot(made.goods.bittering, grams(75), alpha=0.12)
    made.lot(made.goods.aroma, grams(3000), alpha=0.06)
    run = made.plan(5)
    told = []
    for most in (1.5, 2.0):
        SiteSettings.objects.update(most_multiple=most)
        told.append(run_plan(run).lines[0].remedies)
    assert told[0] == ()
    assert told[1][0].startswith("Blend lots")


def test_yeast_that_pitches_its_floor_exactly_is_enough() -> None:
    """0.7 * 3 packs / 2.1 packs asked is a little less than 1 in binary."""
    made = store(yeast_part=Part.PACKED)
    lot = made.lot(made.goods.ale_yeast, 50)
    needs = kit_needs(bill_of(made.kit.pk), made.goods.ale_yeast.pk)
    assert needs.yeast is not None
    row = replace(needs.yeast, packed=3, exact=2.1, pitch_floor=1.0)

    def candidates(living: float) -> list[int]:
        pitched = SimpleNamespace(share=living, fill=1.0, floor_share=1.0)
        stock = replace(
            stock_for([needs], PACK_ON), yeasts=SimpleNamespace(pitched_on=lambda *_: pitched)
        )
        found = bound_lots(
            replace(needs, yeast=row),
            stock,
            pack_on=PACK_ON,
            brew_on=PACK_ON + timedelta(days=10),
            rules=house(),
        )
        return [each.lot for each in found[row.item_code]]

    assert 3 * 0.7 / 2.1 < 1
    assert candidates(0.7) == [lot.pk]
    assert candidates(0.699) == []
