"""What a reader of a balance must know besides its figures, in sentences."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from planning.engine.hop_line import HopLine
from planning.engine.moved_time import MovedTime
from recipes.brewing.roles import HopRole


def boiled_at_a_limit(lines: Sequence[HopLine], moved: Mapping[str, MovedTime]) -> Iterator[str]:
    """Yield what stays at a limit of its boil time while another addition takes the difference."""
    if all(line.role is not HopRole.ABSORB for line in lines):
        return
    for line in lines:
        asked = moved.get(line.line)
        if asked and (asked.too_short or asked.too_long):
            extreme, side = ("longest", "less") if asked.too_short else ("shortest", "more")
            yield (
                f"{line.name} boils {asked.nearest} min, the {extreme} it may, and gives {side} "
                "than its own bitterness; what absorbs takes the difference."
            )


def mixed_methods(lines: Sequence[HopLine]) -> Iterator[str]:
    """Yield a note where bitterness is summed over alpha acids that were not measured alike."""
    methods: dict[str, list[str]] = {}
    for line in lines:
        if line.alpha_method and line.ibu_per_gram:
            methods.setdefault(line.alpha_method, []).append(line.name)
    if len(methods) > 1:
        told = "; ".join(f"{method}: {', '.join(names)}" for method, names in methods.items())
        yield (
            f"The alpha acids were measured by different methods ({told}), which do not give the "
            "same figure for the same hops."
        )
