"""The content of a method: everything that moves its figures, the items' specifications included.

A draft's content is read from the live rows. An offered revision keeps its content with the
figures, so that nothing that happens to an item later can move them; kits of the revision are
designed from what was kept. Both are the same plain JSON and go through the same arithmetic.
"""

from __future__ import annotations

from typing import TypedDict, cast

from django.db.models import Prefetch, QuerySet

from boxwort.errors import Refusal
from boxwort.quantities import MG_PER_G, MG_PER_KG, UL_PER_L
from inventory.models import HopSpec, Item, ItemKind, MaltSpec, YeastSpec
from inventory.models.items import FERMENTABLE_KINDS
from recipes.brewing.extract import Fermentable
from recipes.brewing.figures import Brew, Hop
from recipes.brewing.roles import FermentableKind, HopRole, MethodKind, Use
from recipes.models import Line, Method, YeastOption


class MaltContent(TypedDict):
    """The specification of a fermentable, in the units of ``inventory.models.MaltSpec``."""

    points_l_per_kg: float
    steep_points_l_per_kg: float
    colour_lovibond: float
    power_lintner: float
    fermentability: float
    must_mash: bool


class LineContent(TypedDict):
    """One addition; ``quantity`` in units of stock, ``alpha`` a share (the reference)."""

    item: str
    name: str
    kind: str
    measure: str
    use: str
    minutes: int
    quantity: int
    role: str
    alpha: float | None
    malt: MaltContent | None


class YeastContent(TypedDict):
    """One yeast option, in the units of ``inventory.models.YeastSpec``."""

    item: str
    name: str
    form: str
    attenuation: float
    cells_per_pack: float
    pack_grams: float
    pitch_million: float
    dose_g_per_hl: float


class MethodContent(TypedDict):
    """One method: volumes in microlitres, the lines in order, the usual yeast first."""

    kind: str
    finished_volume: int
    pre_boil_volume: int
    post_boil_volume: int
    boil_minutes: int
    mash_efficiency: float
    lines: list[LineContent]
    yeasts: list[YeastContent]


def methods_in_full() -> QuerySet[Method]:
    """Return methods with all that their content needs, in a fixed number of statements."""
    lines = Line.objects.select_related("item__malt", "item__hop").order_by("position")
    yeasts = YeastOption.objects.select_related("item__yeast").order_by("position")
    return Method.objects.select_related("revision__recipe").prefetch_related(
        Prefetch("lines", lines), Prefetch("revision__yeasts", yeasts)
    )


def method_content(method: Method) -> MethodContent:
    """Return a method's content: what was kept when it was offered, else from the live rows."""
    if method.frozen:
        return cast("MethodContent", method.frozen["content"])
    return live_content(method)


def live_content(method: Method) -> MethodContent:
    """Return a method's content from the rows and specifications as they are now."""
    return MethodContent(
        kind=method.kind,
        finished_volume=method.finished_volume,
        pre_boil_volume=method.pre_boil_volume,
        post_boil_volume=method.post_boil_volume,
        boil_minutes=method.boil_minutes,
        mash_efficiency=method.mash_efficiency,
        lines=[_line_content(line) for line in method.lines.all()],
        yeasts=[_yeast_content(option.item) for option in method.revision.yeasts.all()],
    )


def is_fermentable(line: LineContent) -> bool:
    """Return whether a line gives extract."""
    return line["kind"] in FERMENTABLE_KINDS


def is_hop(line: LineContent) -> bool:
    """Return whether a line is a hop."""
    return line["kind"] == ItemKind.HOP


def brew_of(content: MethodContent) -> Brew:
    """Return the brew that the arithmetic knows, of a method's content.

    Raises
    ------
    Refusal: ``yeast-missing`` or ``specification-missing`` when a figure cannot be made.
    """
    if not content["yeasts"]:
        raise Refusal(
            "yeast-missing",
            "The revision has no yeast, so nothing says how far the beer ferments.",
            "Add at least one yeast option.",
        )
    return Brew(
        kind=MethodKind(content["kind"]),
        finished_volume_l=content["finished_volume"] / UL_PER_L,
        pre_boil_volume_l=content["pre_boil_volume"] / UL_PER_L,
        post_boil_volume_l=content["post_boil_volume"] / UL_PER_L,
        mash_efficiency=content["mash_efficiency"],
        attenuation=content["yeasts"][0]["attenuation"],
        fermentables=tuple(_fermentable(ln) for ln in content["lines"] if is_fermentable(ln)),
        hops=tuple(_hop(line) for line in content["lines"] if is_hop(line)),
        boil_minutes=float(content["boil_minutes"]),
    )


def _line_content(line: Line) -> LineContent:
    hop: HopSpec | None = getattr(line.item, "hop", None)
    planning_alpha = hop.planning_alpha if hop else None
    return LineContent(
        item=line.item.code,
        name=line.item.name,
        kind=line.item.kind,
        measure=line.item.measure,
        use=line.use,
        minutes=line.minutes,
        quantity=line.quantity,
        role=line.role,
        alpha=planning_alpha if line.reference_alpha is None else line.reference_alpha,
        malt=_malt_content(line.item),
    )


def _malt_content(item: Item) -> MaltContent | None:
    malt: MaltSpec | None = getattr(item, "malt", None)
    if malt is None:
        return None
    return MaltContent(
        points_l_per_kg=malt.points_l_per_kg,
        steep_points_l_per_kg=malt.steep_points_l_per_kg,
        colour_lovibond=malt.colour_lovibond,
        power_lintner=malt.power_lintner,
        fermentability=malt.fermentability,
        must_mash=malt.must_mash,
    )


def _yeast_content(item: Item) -> YeastContent:
    spec: YeastSpec = item.yeast
    return YeastContent(
        item=item.code,
        name=item.name,
        form=spec.form,
        attenuation=spec.attenuation,
        cells_per_pack=spec.cells_per_pack,
        pack_grams=spec.pack_grams,
        pitch_million=spec.pitch_million,
        dose_g_per_hl=spec.dose_g_per_hl,
    )


def _fermentable(line: LineContent) -> Fermentable:
    malt = line["malt"]
    if malt is None:
        raise _specification_missing(line)
    use = Use(line["use"])
    return Fermentable(
        name=line["name"],
        kind=FermentableKind(line["kind"]),
        kg=line["quantity"] / MG_PER_KG,
        use=use,
        minutes=float(line["minutes"]) if use is Use.BOIL else None,
        **malt,
    )


def _hop(line: LineContent) -> Hop:
    if line["alpha"] is None:
        raise _specification_missing(line)
    return Hop(
        name=line["name"],
        grams=line["quantity"] / MG_PER_G,
        alpha=line["alpha"],
        minutes=float(line["minutes"]),
        use=Use(line["use"]),
        role=HopRole(line["role"]) if line["role"] else HopRole.HOLD_WEIGHT,
    )


def _specification_missing(line: LineContent) -> Refusal:
    """Return the refusal of a line whose item has no specification to compute with."""
    return Refusal(
        "specification-missing",
        f"{line['name']} ({line['item']}) has no {line['kind']} specification.",
        "Complete the item in the catalogue.",
    )
