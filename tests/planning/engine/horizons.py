"""Horizons of run lines for tests of allocation."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

from hypothesis import strategies as st

from planning.engine.horizon import Horizon, PackLine, in_order
from planning.engine.kit_sheet import BoundKit
from planning.engine.lots import LotSupply
from tests.planning.engine.make import DAY, GOLD, PERLE, hop, yeast


def pack_line(
    number,
    kits,
    lots,
    *,
    day=0,
    lines=(GOLD, PERLE),
    bound=None,
    minimum=6,
    firm=None,
    weak=(),
    divisible=None,
    overage=None,
):
    """Kits of one line, packed ``day`` days after the first day of the horizon."""
    kit = BoundKit(
        target_ibu=sum(line.reference_ibu for line in lines),
        hop_lines=lines,
        bound_items=bound or {},
        resolution_mg=100,
        overage=overage or {},
    )
    return PackLine(
        line=number,
        on=DAY + timedelta(day),
        kits=kits,
        kit=kit,
        lots={item: lots.get(item, []) for item in kit.items},
        minimum_kits=minimum,
        firm={DAY + timedelta(on): count for on, count in (firm or {}).items()},
        weak=frozenset(weak),
        divisible=divisible or {},
    )


def horizon(*lines, divisible=None):
    return Horizon(lines=in_order(lines), divisible=divisible or {})


def arriving(lot, day):
    """The lot, received some days after the first day of the horizon."""
    return replace(lot, first_day=DAY + timedelta(day))


def cut_of(answer, line, *items):
    return [(stretch.kits, *(stretch.lots[item].lot for item in items)) for stretch in answer[line]]


_HOP_LOTS = st.lists(
    st.tuples(st.integers(0, 700), st.sampled_from([0.045, 0.05, 0.056]), st.integers(0, 12)),
    min_size=1,
    max_size=3,
)
_ALE_LOTS = st.lists(st.tuples(st.integers(0, 40), st.integers(0, 12)), min_size=1, max_size=2)


@st.composite
def horizons(draw, most_lines=4):
    """A few lines that share a few lots, with firm orders, malt, and yeast that may be weak."""
    lots = {
        "gold": [
            hop(at, grams, alpha=alpha, last=last)
            for at, (grams, alpha, last) in enumerate(draw(_HOP_LOTS))
        ],
        "perle": [
            arriving(hop(10 + at, grams, alpha=0.04, last=last), draw(st.sampled_from([0, 0, 3])))
            for at, (grams, _, last) in enumerate(draw(_HOP_LOTS))
        ],
        "ale": [yeast(20 + at, n, last=last) for at, (n, last) in enumerate(draw(_ALE_LOTS))],
    }
    malt = draw(st.sampled_from([None, 400_000]))
    return horizon(
        *(
            pack_line(
                number,
                draw(st.integers(1, 30)),
                lots,
                day=draw(st.integers(0, 10)),
                lines=draw(st.sampled_from([(GOLD, PERLE), (GOLD,), (PERLE,)])),
                bound=draw(st.sampled_from([{}, {"ale": 1}])),
                minimum=draw(st.integers(1, 8)),
                firm=draw(st.dictionaries(st.integers(5, 9), st.integers(1, 12), max_size=2)),
                weak=draw(st.sampled_from([(), (20,)])),
                divisible={"malt": [5_000]} if malt else {},
                overage=draw(st.sampled_from([{}, {"gold": 0.015}])),
            )
            for number in range(draw(st.integers(1, most_lines)))
        ),
        divisible={"malt": [LotSupply(lot=90, code="M-1", available=malt)]} if malt else {},
    )
