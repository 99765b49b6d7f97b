"""The sheet that lies in a hop pack: when each pouch goes in, by the weights of this pack alone."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from planning.documents.hot_side import WORT_SCALDS, Step
from planning.documents.wording import Content, listed, when
from recipes.brewing.roles import Use

BEFORE = (
    "Keep the pack sealed and cold, best frozen, until brew day.",
    "This sheet stays with the pack: its weights are right for the lots in it and for no others.",
    "Everything else about the brew stands on the sheet of the kit that the pack belongs to. Where "
    "the two give another time for a hop, go by this one.",
)
_CAUTIONS = {
    Use.FIRST_WORT: WORT_SCALDS,
    Use.BOIL: "Boiling wort scalds: let the hops in slowly, for it foams up.",
    Use.FLAME_OUT: WORT_SCALDS,
    Use.WHIRLPOOL: WORT_SCALDS,
}


def hop_pack_steps(content: Content, units: str) -> Iterator[Step]:
    """Yield each time at which hops go in, in the order of the brew, with their weights."""
    together: dict[str, list[Mapping[str, Any]]] = {}
    for line in content["lines"]:
        if line["use"]:
            together.setdefault(when(line), []).append(line)
    for title, added in together.items():
        yield Step(
            title=title,
            text=f"Add {listed(added, units)}.",
            caution=_CAUTIONS.get(added[0]["use"], ""),
        )
