"""Brew-day figures: mash water and its heat, what the grain keeps, priming and carbonation.

Pages and papers read the same. The warmest that the beer has been since fermentation slowed is
taken to be the temperature the method ferments at.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import partial

from boxwort.accounts.queries import site_settings
from boxwort.quantities import MG_PER_G, MG_PER_KG, UL_PER_L
from boxwort.working import Working
from inventory.models import ItemKind
from recipes.brewing.priming import (
    PRIMING_SUGARS,
    WARNED_ABOVE_VOLUMES,
    PrimingRule,
    priming_sugar,
    volumes_from,
)
from recipes.brewing.roles import Family, Use
from recipes.brewing.strike import absorbed_water, first_runnings, mash_water, strike_temperature
from recipes.models import Contents, Kit, Method
from recipes.queries.bills import BillRow
from recipes.queries.contents import MethodContent, method_content, methods_in_full

ROOM_C = 20.0
"""What grain is taken to be as warm as, where the method does not say."""
_RULES = {
    PrimingRule.STOICHIOMETRY: "By stoichiometry; brewing texts reckon with 8 % less sugar.",
    PrimingRule.BREWING_TEXT: "By the rule of brewing texts; stoichiometry reckons with 9 % more "
    "sugar.",
}
_WARMTH_NOTE = (
    "The beer is taken to have been no warmer than it ferments since fermentation slowed; if it "
    "was, it holds less of its own."
)


@dataclass(frozen=True, kw_only=True)
class BrewDay:
    """The figures of a brew day, each with its working.

    Attributes
    ----------
    strike, mash_water, first_runnings: None when nothing is mashed, or the method does not say how
        thick or how warm its mash is.
    absorbed: water that mashed and steeped grain keeps; None without grain.
    priming: sugar for the carbonation that the method wants, one figure for each sugar: those that
        it primes with, else each sugar that is usual.
    carbonation: what the priming sugar in the box gives; None where none is in it.
    heavy_bottles_for: the volumes that heavy bottles are needed for; None where usual ones do.
    missing: in plain words, what the method does not say yet or what cannot be.
    """

    strike: Working | None = None
    mash_water: Working | None = None
    first_runnings: Working | None = None
    absorbed: Working | None = None
    priming: tuple[Working, ...] = ()
    carbonation: Working | None = None
    heavy_bottles_for: float | None = None
    missing: tuple[str, ...] = ()

    @property
    def workings(self) -> tuple[Working, ...]:
        """Return the figures that there are, in the order of the day."""
        mash = (self.strike, self.mash_water, self.absorbed, self.first_runnings)
        figures = (*mash, *self.priming, self.carbonation)
        return tuple(figure for figure in figures if figure)


@dataclass(frozen=True, kw_only=True)
class _Brewed:
    """What the figures are made of: a method at a size, and what is weighed for it."""

    content: MethodContent
    rule: PrimingRule
    mash_c: float | None
    ferment_c: float
    volume_l: float
    mashed_kg: float
    steeped_kg: float
    sugars: tuple[tuple[Family | None, float], ...]
    missing: list[str] = field(default_factory=list)

    @property
    def rule_note(self) -> str:
        """Say by which rule sugar is reckoned, and what is taken for granted."""
        return f"{_RULES[self.rule]} {_WARMTH_NOTE}"

    def figure(self, of: Callable[[], Working]) -> Working | None:
        """Return a figure, or None where it cannot be and the reason is written down."""
        try:
            return of()
        except ValueError as problem:
            self.say(str(problem))
            return None

    def say(self, sentence: str) -> None:
        """Write down what is missing."""
        said = f"{sentence[:1].upper()}{sentence[1:]}."
        if said not in self.missing:
            self.missing.append(said)


def method_brew_days(method_ids: Iterable[int]) -> dict[int, BrewDay]:
    """Return the brew-day figures of methods, by their amounts; a fixed number of statements."""
    methods = methods_in_full().filter(pk__in=list(method_ids))
    rule = house_priming_rule()
    return {method.pk: method_brew_day(method, rule) for method in methods}


def house_priming_rule() -> PrimingRule:
    """Return the rule by which the house reckons priming sugar."""
    return PrimingRule(site_settings().priming_rule)


def method_brew_day(method: Method, rule: PrimingRule) -> BrewDay:
    """Return the brew-day figures of a method read by ``methods_in_full``."""
    content = method_content(method)
    families = _families(content)
    lines = [
        (line["kind"], line["use"], families[line["item"]], line["quantity"])
        for line in content["lines"]
    ]
    return _brew_day(_brewed(method, content, rule, content["finished_volume"], lines))


def kit_brew_day(kit_id: int, rows: Sequence[BillRow]) -> BrewDay:
    """Return the brew-day figures of a kit, by what is packed in it; a hop pack has none.

    Parameters
    ----------
    rows: its bill, frozen or by design, with substitutes in place if any were taken.

    Raises
    ------
    Kit.DoesNotExist: there is no such kit.
    """
    kit = Kit.objects.get(pk=kit_id)
    if kit.contents == Contents.HOP_PACK:
        return BrewDay()
    method = methods_in_full().get(pk=kit.method_id)
    content = method_content(method)
    families = _families(content)
    lines = [(row.item_kind, row.use, families.get(row.item_code), row.packed) for row in rows]
    return _brew_day(_brewed(method, content, house_priming_rule(), kit.volume, lines))


def _families(content: MethodContent) -> Mapping[str, Family | None]:
    goods = [each for line in content["lines"] for each in (line, *line["substitutes"])]
    return {
        each["item"]: Family(each["malt"]["family"])
        if each["malt"] and each["malt"]["family"]
        else None
        for each in goods
    }


def _brewed(
    method: Method,
    content: MethodContent,
    rule: PrimingRule,
    volume: int,
    lines: Sequence[tuple[str, str, Family | None, float]],
) -> _Brewed:
    def grain_kg(used: Use) -> float:
        of_use = [
            mg for kind, use, _, mg in lines if (kind, use) == (ItemKind.GRAIN.value, used.value)
        ]
        return math.fsum(of_use) / MG_PER_KG

    return _Brewed(
        content=content,
        rule=rule,
        mash_c=method.mash_temperature_c,
        ferment_c=method.ferment_temperature_c,
        volume_l=volume / UL_PER_L,
        mashed_kg=grain_kg(Use.MASH),
        steeped_kg=grain_kg(Use.STEEP),
        sugars=tuple(
            (family, mg / MG_PER_G) for _, use, family, mg in lines if use == Use.PRIMING.value
        ),
    )


def _brew_day(brewed: _Brewed) -> BrewDay:
    grain_kg = brewed.mashed_kg + brewed.steeped_kg
    carbonation = _carbonation(brewed)
    day = replace(
        _mash(brewed),
        absorbed=brewed.figure(partial(absorbed_water, grain_kg=grain_kg)) if grain_kg else None,
        priming=tuple(_priming(brewed)),
        carbonation=carbonation,
        heavy_bottles_for=_heavy_bottles_for(brewed.content, carbonation),
    )
    return replace(day, missing=tuple(brewed.missing))


def _heavy_bottles_for(content: MethodContent, given: Working | None) -> float | None:
    """Return the most that is wanted or given, of a beer that is for heavy bottles."""
    volumes = max(content["carbonation_volumes"] or 0.0, given.value if given else 0.0)
    return volumes if content["heavy_bottles"] and volumes > WARNED_ABOVE_VOLUMES else None


def _mash(brewed: _Brewed) -> BrewDay:
    thickness, grain_c = brewed.content["mash_l_per_kg"], brewed.content["grain_temperature_c"]
    if not brewed.mashed_kg:
        return BrewDay()
    if thickness is None or brewed.mash_c is None:
        unsaid = "how much water goes on a kilogram of grain" if thickness is None else ""
        warmth = "how warm the mash rests" if brewed.mash_c is None else ""
        said = " and ".join(filter(None, (unsaid, warmth)))
        brewed.say(f"the method does not say {said}, so the mash water is not reckoned")
        return BrewDay()
    strike = brewed.figure(
        partial(
            strike_temperature,
            mash_l_per_kg=thickness,
            grain_c=ROOM_C if grain_c is None else grain_c,
            mash_c=brewed.mash_c,
        )
    )
    if strike and grain_c is None:
        assumed = f"The method does not say how warm the grain is: {ROOM_C:g} C is taken."
        strike = replace(strike, notes=(assumed, *strike.notes))
    mash = {"grain_kg": brewed.mashed_kg, "mash_l_per_kg": thickness}
    return BrewDay(
        strike=strike,
        mash_water=brewed.figure(partial(mash_water, **mash)),
        first_runnings=brewed.figure(partial(first_runnings, **mash)),
    )


def _priming(brewed: _Brewed) -> Iterator[Working]:
    volumes = brewed.content["carbonation_volumes"]
    if volumes is None:
        brewed.say("the method does not say how much carbonation it wants")
        return
    for sugar in _sugars(brewed) if volumes else ():
        figure = brewed.figure(
            partial(
                priming_sugar,
                volumes=volumes,
                volume_l=brewed.volume_l,
                highest_temperature_c=brewed.ferment_c,
                sugar=sugar,
                rule=brewed.rule,
                heavy_bottles=brewed.content["heavy_bottles"],
            )
        )
        if figure:
            name = f"{figure.name}, {PRIMING_SUGARS[sugar].name}"
            yield replace(figure, name=name, notes=(brewed.rule_note, *figure.notes))


def _sugars(brewed: _Brewed) -> tuple[Family, ...]:
    """Return the sugars that the method primes with, else all that are usual."""
    named = [family for family, _ in brewed.sugars if family in PRIMING_SUGARS]
    return tuple(family for family in dict.fromkeys(named) if family) or tuple(PRIMING_SUGARS)


def _carbonation(brewed: _Brewed) -> Working | None:
    families = {family for family, _ in brewed.sugars}
    if not families:
        return None
    sugar = families.pop()
    if families or sugar is None:
        what = "one sugar and another" if families else "a sugar that the catalogue does not name"
        brewed.say(f"the method primes with {what}, so its carbonation is not reckoned")
        return None
    figure = brewed.figure(
        partial(
            volumes_from,
            grams=math.fsum(grams for _, grams in brewed.sugars),
            volume_l=brewed.volume_l,
            highest_temperature_c=brewed.ferment_c,
            sugar=sugar,
            rule=brewed.rule,
            heavy_bottles=brewed.content["heavy_bottles"],
        )
    )
    return figure and replace(
        figure,
        name="Carbonation by its priming sugar",
        notes=(brewed.rule_note, *figure.notes),
    )
