"""Yeasts that could stand in for one another: others of the same strain group with usable lots.

A yeast brought in ferments to its own attenuation, so final gravity and alcohol change; where trial
batches have set a method's attenuation, both yeasts are taken in proportion to it. Packs are for
a kit that is packed today from the freshest lot. This only tells what is possible: what a kit may
be packed with are its yeast options.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date

from django.utils import timezone

from boxwort.accounts.queries import site_settings
from boxwort.errors import Refusal
from boxwort.quantities import UL_PER_L
from boxwort.working import Working
from inventory.models import Item, YeastForm, YeastSpec
from inventory.queries.lots import UsableLot, usable_lots
from inventory.queries.yeasts import Journey, LotViability, YeastLives, journey, yeast_lives
from planning.engine.pitching import packs_for
from planning.queries.supply import brew_day
from recipes.brewing.gravity import plato_from_sg
from recipes.brewing.pitch import cells_needed, dry_grams_needed
from recipes.models import Kit, KitBillLine
from recipes.queries.contents import MethodContent, brew_of, method_content, methods_in_full
from recipes.queries.figures import computed
from recipes.queries.stand_ins import attenuation_with


@dataclass(frozen=True, kw_only=True)
class InterchangeRow:
    """Another yeast for one option of a kit; gravities are SG, ``abv`` percent by volume.

    ``packs`` is on the kit's bill, ``other_packs`` what the target takes of the other yeast (None:
    its freshest lot is dead by then); ``is_option`` says that the kit may be packed with it today.
    """

    kit_code: str
    kit_name: str
    item_code: str
    item_name: str
    other_code: str
    other_name: str
    other_form: str
    strain_group: str
    is_option: bool
    lots: tuple[str, ...]
    packs_in_stock: int
    attenuation: float
    other_attenuation: float
    fg: Working
    other_fg: Working
    abv: Working
    other_abv: Working
    packs: int
    other_packs: int | None


@dataclass(frozen=True, kw_only=True)
class _Store:
    """The strains by group, their usable lots, and what is known of those."""

    groups: Mapping[str, Sequence[Item]]
    lots: Mapping[int, Sequence[UsableLot]]
    lives: YeastLives
    journey: Journey
    today: date

    def freshest(self, item: Item, kit: Kit) -> LotViability:
        """Return the best that a usable lot gives on the pitch day of a kit packed today."""
        pitch_on = brew_day(self.today, kit.shelf_days)
        alive = [
            self.lives.pitched_on(lot.lot_id, self.today, pitch_on, self.journey)
            for lot in self.lots[item.pk]
        ]
        return max(alive, key=lambda found: found.share * found.fill)


def interchange_rows(on: date | None = None) -> tuple[InterchangeRow, ...]:
    """Return, for each yeast option of the offered kits, what else of its strain is in stock."""
    today = on or timezone.localdate()
    store = _store(today)
    options: dict[Kit, list[KitBillLine]] = defaultdict(list)
    bills = KitBillLine.objects.filter(is_yeast_option=True, kit__offered=True)
    for option in bills.select_related("kit__item", "item__yeast").order_by(
        "kit__item__code", "position"
    ):
        options[option.kit].append(option)
    methods = methods_in_full().in_bulk({kit.method_id for kit in options})
    contents = {pk: method_content(method) for pk, method in methods.items()}
    return tuple(
        row
        for kit, found in options.items()
        for row in _of_kit(kit, found, contents[kit.method_id], store)
    )


def _store(today: date) -> _Store:
    groups: dict[str, list[Item]] = defaultdict(list)
    strains = Item.objects.filter(yeast__isnull=False, active=True).exclude(yeast__strain_group="")
    for item in strains.select_related("yeast").order_by("code"):
        groups[item.yeast.strain_group].append(item)
    lots = usable_lots([item.pk for found in groups.values() for item in found], today)
    return _Store(
        groups=groups,
        lots=lots,
        lives=yeast_lives(lot.lot_id for found in lots.values() for lot in found),
        journey=journey(site_settings()),
        today=today,
    )


def _of_kit(
    kit: Kit, options: Sequence[KitBillLine], content: MethodContent, store: _Store
) -> Iterator[InterchangeRow]:
    own = {option.item_id for option in options}
    for option in options:
        spec = option.item.yeast
        others = [
            other
            for other in store.groups.get(spec.strain_group, ())
            if other.pk != option.item_id and store.lots.get(other.pk)
        ]
        for other in others:
            try:
                figured = [_fermented(content, each) for each in (spec, other.yeast)]
            except Refusal:  # the kept method cannot be figured any more, so nothing is compared
                continue
            (fg, abv), (other_fg, other_abv) = figured
            yield InterchangeRow(
                kit_code=kit.item.code,
                kit_name=kit.item.name,
                item_code=option.item.code,
                item_name=option.item.name,
                other_code=other.code,
                other_name=other.name,
                other_form=other.yeast.form,
                strain_group=spec.strain_group,
                is_option=other.pk in own,
                lots=tuple(lot.code for lot in store.lots[other.pk]),
                packs_in_stock=sum(lot.available for lot in store.lots[other.pk]),
                attenuation=spec.attenuation,
                other_attenuation=other.yeast.attenuation,
                fg=fg,
                other_fg=other_fg,
                abv=abv,
                other_abv=other_abv,
                packs=option.packed,
                other_packs=_packs(kit, other, store),
            )


def _fermented(content: MethodContent, spec: YeastSpec) -> tuple[Working, Working]:
    """Return final gravity and alcohol of a method with another yeast in it."""
    attenuation = attenuation_with(content, spec.attenuation)
    figured = computed(replace(brew_of(content), attenuation=attenuation))
    return figured.fg, figured.abv


def _packs(kit: Kit, other: Item, store: _Store) -> int | None:
    """Return the packs of another yeast that reach the kit's target on its pitch day."""
    alive = store.freshest(other, kit)
    return packs_for(
        share=alive.target_share if kit.target_share is None else kit.target_share,
        living=alive.share,
        fill=alive.fill,
        asked=_fresh_packs(other.yeast, kit),
    )


def _fresh_packs(spec: YeastSpec, kit: Kit) -> float:
    """Return the packs of fresh yeast, a fraction, that a kit's wort asks for."""
    volume_l = kit.volume / UL_PER_L
    if spec.form == YeastForm.LIQUID:
        plato = plato_from_sg(kit.figures["og"]["value"])
        cells = cells_needed(pitch_rate_million=spec.pitch_million, volume_l=volume_l, plato=plato)
        return cells / spec.cells_per_pack
    return dry_grams_needed(dose_g_per_hl=spec.dose_g_per_hl, volume_l=volume_l) / spec.pack_grams
