"""What a kit asks of stock, in the words that plans, proposals and refusals use."""

from __future__ import annotations

from dataclasses import replace

import pytest

from planning.queries.supply import hop_line
from recipes.brewing.roles import Use
from recipes.queries.bills import BillRow, bill_of
from tests.planning.make import store

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
