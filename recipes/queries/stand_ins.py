"""A brew with a substitute in the place of a line or of its yeast; the rest stays as it is."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import cast

from boxwort.errors import Refusal
from recipes.brewing.bitterness import form_factor_between
from recipes.brewing.extract import Fermentable
from recipes.brewing.figures import Brew, Hop
from recipes.brewing.substitution import substituted
from recipes.queries.contents import (
    GoodsContent,
    LineContent,
    MethodContent,
    StrainContent,
    SubstituteContent,
    fermentable_of,
    hop_of,
    is_fermentable,
    is_hop,
)
from recipes.queries.packed_brews import Scales


def placed(content: MethodContent) -> Iterator[tuple[LineContent, int]]:
    """Yield the lines, each with its place among the fermentables, the hops or the rest."""
    places = {"fermentable": 0, "hop": 0, "other": 0}
    for line in content["lines"]:
        group = "fermentable" if is_fermentable(line) else "hop" if is_hop(line) else "other"
        yield line, places[group]
        places[group] += 1


def standing_for(line: LineContent, substitute: SubstituteContent) -> LineContent:
    """Return a line as it is with a substitute in its place, by the approved ratio."""
    goods = {name: substitute[name] for name in GoodsContent.__annotations__}  # type: ignore[literal-required]
    quantity = line["quantity"] * substitute["ratio"]
    return cast("LineContent", {**line, **goods, "quantity": quantity, "substitutes": []})


def content_with(
    content: MethodContent, number: int, substitute: SubstituteContent
) -> MethodContent:
    """Return a method's content with a substitute in the place of the line of this number."""
    lines = list(content["lines"])
    lines[number] = standing_for(lines[number], substitute)
    return {**content, "lines": lines}


def brew_with(
    brew: Brew,
    content: MethodContent,
    number: int,
    substitute: SubstituteContent,
    scales: Scales,
) -> Brew:
    """Return a method's brew, at whatever size, with a substitute in the place of a line.

    After another hop, those that hold bitterness or absorb are solved again, the substitute among
    them: the beer is as bitter as it was.

    Raises
    ------
    Refusal: ``specification-missing``, or ``substitute-unfit`` when it cannot be brewed with.
    """
    line, place = list(placed(content))[number]
    known, ratio = standing_for(line, substitute), substitute["ratio"]
    if not is_fermentable(line) and not is_hop(line):
        return brew
    try:
        return substituted(brew, place, _replacement(known, line["form"], scales), ratio)
    except ValueError as problem:
        raise Refusal(
            "substitute-unfit",
            f"{substitute['name']} cannot stand for {line['name']}: {problem}.",
            "Choose another substitute, or another ratio.",
        ) from problem


def _replacement(known: LineContent, form: str, scales: Scales) -> Fermentable | Hop:
    """Return what stands in, by itself; a hop of another form than the line's has its factor."""
    if is_fermentable(known):
        return fermentable_of(known, 0.0)
    return hop_of(known, 0.0, hop_form_factor(form, known["form"], scales))


def hop_form_factor(reference: str, form: str, scales: Scales) -> float:
    """Return what a form isomerises next to a line's own; 1 where either was not kept."""
    if not reference or not form:
        return 1.0
    return form_factor_between(reference, form, scales.form_factors)


def pitched_with(brew: Brew, content: MethodContent, strain: StrainContent) -> Brew:
    """Return a method's brew with another yeast."""
    return replace(brew, attenuation=attenuation_with(content, strain["attenuation"]))


def attenuation_with(content: MethodContent, attenuation: float) -> float:
    """Return how far a yeast of this attenuation ferments a method's wort, at most all of it.

    Where trials have set the method's own with its usual yeast, in proportion to that.
    """
    by_trials, usual = content["attenuation"], content["yeasts"][0]["attenuation"]
    return attenuation if by_trials is None else min(1.0, by_trials * attenuation / usual)
