"""A method at one size, with or without a substitute in the place of something."""

from __future__ import annotations

from dataclasses import dataclass, replace

from boxwort.errors import Refusal
from boxwort.quantities import UL_PER_L
from recipes.brewing.figures import Brew, Figures
from recipes.brewing.scale import Scaled, ScaledLine, scaled
from recipes.models import Method
from recipes.queries.contents import (
    MethodContent,
    StrainContent,
    SubstituteContent,
    brew_of,
    method_content,
)
from recipes.queries.figures import computed
from recipes.queries.packed_brews import Scales, as_packed, boxed, hop_steps, in_the_box
from recipes.queries.stand_ins import brew_with, content_with, pitched_with


@dataclass(frozen=True, kw_only=True)
class SizedMethod:
    """A method at one size: its content, the unrounded brew, and what it is weighed with.

    ``volume`` is microlitres; ``reasons`` and ``lines`` say what scaling did to each amount.
    """

    method: Method
    content: MethodContent
    brew: Brew
    volume: int
    scales: Scales
    reasons: tuple[str, ...] = ()
    lines: tuple[ScaledLine, ...] = ()

    @property
    def size(self) -> float:
        """The volume for a volume of 1 of the method."""
        return self.volume / self.content["finished_volume"]

    @property
    def written(self) -> Figures:
        """The figures of the amounts as they are written."""
        return computed(self.brew)

    @property
    def figures(self) -> Figures:
        """The figures of a kit: what can never move counts as packed, the rest as written."""
        whole = boxed(self.brew).brew
        return computed(as_packed(whole, hop_steps(self.content, self.scales)))

    @property
    def packed(self) -> Figures:
        """The figures of every amount as it is packed."""
        return computed(in_the_box(self.brew, hop_steps(self.content, self.scales)))

    def with_line(self, number: int, substitute: SubstituteContent) -> SizedMethod:
        """Return it with a substitute in the place of the line of this number."""
        return replace(
            self,
            content=content_with(self.content, number, substitute),
            brew=brew_with(self.brew, self.content, number, substitute, self.scales),
        )

    def pitched(self, strain: StrainContent) -> SizedMethod:
        """Return it with another yeast."""
        return replace(self, brew=pitched_with(self.brew, self.content, strain))


def sized(method: Method, scales: Scales, volume: int | None = None) -> SizedMethod:
    """Return a method, read by ``methods_in_full``, at a volume in microlitres, else at its own.

    Raises
    ------
    Refusal: ``size-impossible``, or it has no figures at all.
    """
    content = method_content(method)
    wanted = content["finished_volume"] if volume is None else volume
    found = _scaled(brew_of(content), wanted / UL_PER_L)
    return SizedMethod(
        method=method,
        content=content,
        brew=found.brew,
        volume=wanted,
        scales=scales,
        reasons=found.reasons,
        lines=found.lines,
    )


def _scaled(brew: Brew, volume_l: float) -> Scaled:
    if volume_l == brew.finished_volume_l:
        return Scaled(brew=brew, reasons=())
    try:
        return scaled(brew, finished_volume_l=volume_l)
    except ValueError as problem:
        raise Refusal(
            "size-impossible",
            f"The method cannot be brewed at {volume_l:g} L: {problem}.",
            "Change the size of the kit or the hops of the method.",
        ) from problem
