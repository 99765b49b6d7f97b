"""What a plan offers in place of what is short, and what it says would lift a limit."""

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from boxwort.quantities import MG_PER_KG
from inventory.models import Item, Lot
from planning.models import Batch
from planning.queries.previews import run_preview
from planning.queries.rebalancing import change_of
from planning.queries.yeast import yeast_rows
from planning.queries.yeast_matches import yeast_matches
from planning.services.runs import KitsAsked, plan_run
from tests.planning.make import (
    PACK_ON,
    TODAY,
    ale_with_another_yeast,
    ale_with_substitutes,
    grams,
    stand_in,
    store,
    using,
)
from tests.recipes.make import offered_kit

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("today_stands_still")]


def item(code: str) -> Item:
    return Item.objects.get(code=code)


def with_other(*, bittering: float | None = None):
    """Return a store that has the other hop, and bittering hops of this alpha acid if any."""
    made = store(hops=False, recipe=ale_with_substitutes)
    made.lot(made.goods.aroma, grams(3000), code="AROMA-A", alpha=0.06)
    made.lot(item("OTHER"), grams(2000), code="OTHER-A", alpha=0.12)
    if bittering:
        made.lot(made.goods.bittering, grams(5000), code="BITTER-A", alpha=bittering)
    return made


def offers_of(run):
    return run_preview(run).lines[0].offers


def test_nothing_is_offered_where_nothing_is_short():
    made = with_other(bittering=0.08)
    preview = run_preview(made.plan())
    assert preview.complete
    assert preview.lines[0].offers == ()


def test_what_is_short_is_offered_its_substitute_with_weight_and_stock():
    made = with_other()
    (offer,) = offers_of(made.plan())
    frozen = stand_in(made.kit, "hop-1")
    assert (offer.stands_for, offer.item_name, offer.approved_by) == ("Bitter", "Other", "robin")
    assert (offer.per_kit, offer.original) == (frozen.packed, 36_500)
    assert (offer.needed, offer.usable) == (-(-frozen.packed * 10 * 103 // 100), grams(2000))
    assert (offer.in_use, offer.figures.holds) == (False, True)
    assert (offer.gained, offer.lost) == ((), ())


def test_a_substitute_in_use_stays_on_offer_so_that_it_can_be_taken_back():
    made = with_other(bittering=0.08)
    run = using(made, made.plan(), "hop-1")
    (offer,) = offers_of(run)
    assert offer.in_use


def test_the_offer_says_what_becomes_of_the_beer_and_of_its_allergens():
    made = with_other(bittering=0.08)
    made.lot(item("WHEAT"), 200 * MG_PER_KG)
    run = made.plan(100)  # takes 270 kg of extract, and 200 kg are there
    offer = next(each for each in offers_of(run) if each.key == "malt-1")
    frozen = stand_in(made.kit, "malt-1").figures
    og = offer.figures.row("og")
    assert (og.one, og.other) == (made.kit.figures["og"]["value"], frozen.og.value)
    assert not og.within
    assert not offer.figures.holds
    assert (offer.gained, offer.lost) == (("wheat",), ())


def test_a_limit_names_the_lots_that_would_lift_it_with_their_weights():
    made = with_other(bittering=0.02)
    made.lot(made.goods.bittering, grams(200), code="BITTER-B", alpha=0.12)
    line = run_preview(made.plan()).lines[0]
    assert line.limits
    told = " ".join(line.remedies)
    assert "Blend lots BITTER-A at" in told
    assert "Use the approved substitute for Bitter at 60 min (0.7 to 1) from lot OTHER-A" in told
    assert all("10 kits take" in each for each in line.remedies)
    assert any(offer.key == "hop-1" for offer in line.offers)


def test_a_limit_that_no_lot_here_lifts_has_no_remedy_but_its_general_one():
    made = store(hops=False)
    made.lot(made.goods.aroma, grams(3000), alpha=0.06)
    made.lot(made.goods.bittering, grams(5000), alpha=0.02)
    line = run_preview(made.plan()).lines[0]
    assert line.remedies == ()
    assert "Choose a lot with more alpha acid" in line.limits[0]


def test_a_batch_that_cannot_be_balanced_any_more_says_what_would_help():
    made = with_other(bittering=0.08)
    made.reserved(10)
    made.analysed(Lot.objects.get(code="BITTER-A"), 0.02)
    batch = Batch.objects.select_related("run_line__run", "run_line__kit__item").get()
    change = change_of(batch)
    assert change.balance is None
    assert "from lot OTHER-A" in change.impossible


def test_a_preview_asks_no_more_for_many_kits_with_substitutes_than_for_one():
    made = with_other()
    revision = made.kit.method.revision
    kits = [made.kit] + [
        offered_kit(revision, f"KIT-{days}", made.goods, shelf_days=days) for days in (30, 60)
    ]

    def asked(some) -> int:
        lines = [KitsAsked(kit=kit, kits=2) for kit in some]
        run = plan_run(by=made.by, pack_on=PACK_ON, lines=lines)
        with CaptureQueriesContext(connection) as seen:
            preview = run_preview(run)
        assert all(line.offers for line in preview.lines)
        return len(seen)

    assert asked(kits[:1]) == asked(kits)


def test_a_run_whose_yeast_is_replaced_is_judged_by_lots_of_the_other_yeast():
    made = store(recipe=ale_with_another_yeast)
    for yeast in (made.goods.ale_yeast, item("SPARE")):
        made.lot(yeast, 40, packaged_on=TODAY, received_on=TODAY)
    run = made.plan()
    assert _judged() == {"ALE": [run.code], "SPARE": []}
    using(made, run, "yeast-1")
    assert _judged() == {"ALE": [], "SPARE": [run.code]}
    (match,) = yeast_matches(TODAY)
    assert (match.item_code, match.rows[0].packs) == (
        "SPARE",
        stand_in(made.kit, "yeast-1").packed,
    )


def _judged() -> dict[str, list[str]]:
    return {row.item_code: [run.run_code for run in row.runs] for row in yeast_rows(TODAY)}
