"""The content of a method: everything that moves its figures, the items' specifications included.

A draft's content is read from the live rows. An offered revision keeps its content with the
figures, so that nothing that happens to an item later can move them; kits of the revision are
designed from what was kept. Both are the same plain JSON and go through the same arithmetic.
Content kept before a fact was known is completed as it is read.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any, TypedDict, cast

from django.db.models import Prefetch, QuerySet

from boxwort.errors import Refusal
from boxwort.quantities import MG_PER_G, MG_PER_KG, UL_PER_L
from inventory.models import HopSpec, Item, ItemKind, MaltSpec, YeastSpec
from inventory.models.items import FERMENTABLE_KINDS
from recipes.brewing.extract import Fermentable
from recipes.brewing.figures import Brew, Hop
from recipes.brewing.roles import Family, FermentableKind, HopRole, MethodKind, Use
from recipes.brewing.stand import Stand
from recipes.models import Line, Method, Substitute, YeastOption


class MaltContent(TypedDict):
    """The specification of a fermentable, in the units of ``inventory.models.MaltSpec``."""

    points_l_per_kg: float
    steep_points_l_per_kg: float
    colour_lovibond: float
    power_lintner: float
    fermentability: float
    must_mash: bool
    family: str


class GoodsContent(TypedDict):
    """What an addition is made of, whichever item that is; the line's own or a substitute.

    ``alpha`` is a share (a line's reference, a substitute's planning alpha), ``form`` a hop's, and
    ``container`` the content of the tin or sachet it is sold in whole, in units of stock.
    """

    item: str
    name: str
    kind: str
    measure: str
    alpha: float | None
    form: str
    container: int | None
    malt: MaltContent | None


class SubstituteContent(GoodsContent):
    """What may stand for a line; ``ratio`` is weight for a weight of 1."""

    ratio: float
    note: str


class LineContent(GoodsContent):
    """One addition; ``quantity`` in units of stock."""

    use: str
    minutes: int
    least_minutes: int | None
    most_minutes: int | None
    quantity: int
    role: str
    substitutes: list[SubstituteContent]


class StrainContent(TypedDict):
    """A yeast, in the units of ``inventory.models.YeastSpec``."""

    item: str
    name: str
    form: str
    attenuation: float
    cells_per_pack: float
    pack_grams: float
    pitch_million: float
    dose_g_per_hl: float
    strain_group: str


class YeastContent(StrainContent):
    """One yeast option, and the yeasts that may stand for it."""

    substitutes: list[StrainContent]


class MethodContent(TypedDict):
    """One method: volumes in microlitres, the lines in order, the usual yeast first."""

    kind: str
    finished_volume: int
    pre_boil_volume: int
    post_boil_volume: int
    boil_minutes: int
    mash_efficiency: float
    attenuation: float | None
    stand_minutes: int | None
    stand_from_c: float | None
    stand_to_c: float | None
    first_wort_minutes: int | None
    carbonation_volumes: float | None
    heavy_bottles: bool
    mash_l_per_kg: float | None
    grain_temperature_c: float | None
    lines: list[LineContent]
    yeasts: list[YeastContent]


# What the content of the first revisions did not say yet, and what it then means.
_LATER_OF_METHOD: dict[str, Any] = {
    "attenuation": None,
    "stand_minutes": None,
    "stand_from_c": None,
    "stand_to_c": None,
    "first_wort_minutes": None,
    "carbonation_volumes": None,
    "heavy_bottles": False,
    "mash_l_per_kg": None,
    "grain_temperature_c": None,
}
_LATER_OF_LINE: dict[str, Any] = {
    "form": "",
    "container": None,
    "least_minutes": None,
    "most_minutes": None,
    "substitutes": [],
}
_LATER_OF_YEAST: dict[str, Any] = {"strain_group": "", "substitutes": []}


def methods_in_full() -> QuerySet[Method]:
    """Return methods with all that their content needs, in a fixed number of statements."""
    lines = Line.objects.select_related("item__malt", "item__hop").order_by("position")
    for_lines = _stand_ins().select_related("item__malt", "item__hop")
    return Method.objects.select_related("revision__recipe").prefetch_related(
        Prefetch("lines", lines.prefetch_related(Prefetch("substitutes", for_lines))),
        Prefetch("revision__yeasts", yeasts_in_full()),
    )


def yeasts_in_full() -> QuerySet[YeastOption]:
    """Return yeast options, the usual one first, with all that their content needs."""
    options = YeastOption.objects.select_related("item__yeast").order_by("position")
    for_yeasts = _stand_ins().select_related("item__yeast")
    return options.prefetch_related(Prefetch("substitutes", for_yeasts))


def _stand_ins() -> QuerySet[Substitute]:
    return Substitute.objects.select_related("approved_by").order_by("pk")


def method_content(method: Method) -> MethodContent:
    """Return a method's content: what was kept when it was offered, else from the live rows."""
    if method.frozen:
        return completed(method.frozen["content"])
    return live_content(method)


def completed(stored: Mapping[str, Any]) -> MethodContent:
    """Return kept content with everything that content says today."""
    lines = [{**_LATER_OF_LINE, **line, "malt": _malt_completed(line)} for line in stored["lines"]]
    yeasts = [{**_LATER_OF_YEAST, **yeast} for yeast in stored["yeasts"]]
    said = {**_LATER_OF_METHOD, **stored, "lines": lines, "yeasts": yeasts}
    return cast("MethodContent", said)


def _malt_completed(line: Mapping[str, Any]) -> dict[str, Any] | None:
    return line["malt"] and {"family": "", **line["malt"]}


def live_content(method: Method) -> MethodContent:
    """Return a method's content from the rows and specifications as they are now."""
    return content_with_lines(method, method.lines.all(), method.revision.yeasts.all())


def content_with_lines(
    method: Method, lines: Iterable[Line], yeasts: Iterable[YeastOption]
) -> MethodContent:
    """Return the content of a method with these lines and yeasts, kept as rows or not yet."""
    return MethodContent(
        kind=method.kind,
        finished_volume=method.finished_volume,
        pre_boil_volume=method.pre_boil_volume,
        post_boil_volume=method.post_boil_volume,
        boil_minutes=method.boil_minutes,
        mash_efficiency=method.mash_efficiency,
        attenuation=method.attenuation,
        stand_minutes=method.stand_minutes,
        stand_from_c=method.stand_from_c,
        stand_to_c=method.stand_to_c,
        first_wort_minutes=method.first_wort_minutes,
        carbonation_volumes=method.carbonation_volumes,
        heavy_bottles=method.heavy_bottles,
        mash_l_per_kg=method.mash_l_per_kg,
        grain_temperature_c=method.grain_temperature_c,
        lines=[line_content(line) for line in lines],
        yeasts=[_yeast_content(option) for option in yeasts],
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
    override, usual = content["attenuation"], content["yeasts"][0]["attenuation"]
    return Brew(
        kind=MethodKind(content["kind"]),
        finished_volume_l=content["finished_volume"] / UL_PER_L,
        pre_boil_volume_l=content["pre_boil_volume"] / UL_PER_L,
        post_boil_volume_l=content["post_boil_volume"] / UL_PER_L,
        mash_efficiency=content["mash_efficiency"],
        attenuation=usual if override is None else override,
        fermentables=tuple(
            fermentable_of(line, line["quantity"] / MG_PER_KG)
            for line in content["lines"]
            if is_fermentable(line)
        ),
        hops=tuple(
            hop_of(line, line["quantity"] / MG_PER_G) for line in content["lines"] if is_hop(line)
        ),
        boil_minutes=float(content["boil_minutes"]),
        stand=_stand(content),
        first_wort_minutes=content["first_wort_minutes"],
    )


def fermentable_of(line: LineContent, kg: float) -> Fermentable:
    """Return a line as the arithmetic knows it, at a weight.

    Raises
    ------
    Refusal: ``specification-missing``.
    """
    malt, container = line["malt"], line["container"]
    if malt is None:
        raise _specification_missing(line)
    use = Use(line["use"])
    return Fermentable(
        name=line["name"],
        kind=FermentableKind(line["kind"]),
        kg=kg,
        use=use,
        minutes=float(line["minutes"]) if use is Use.BOIL else None,
        container_kg=None if container is None else container / MG_PER_KG,
        points_l_per_kg=malt["points_l_per_kg"],
        steep_points_l_per_kg=malt["steep_points_l_per_kg"],
        colour_lovibond=malt["colour_lovibond"],
        power_lintner=malt["power_lintner"],
        fermentability=malt["fermentability"],
        must_mash=malt["must_mash"],
        family=Family(malt["family"]) if malt["family"] else None,
    )


def hop_of(line: LineContent, grams: float, form_factor: float = 1.0) -> Hop:
    """Return a hop line as the arithmetic knows it, at a weight.

    Raises
    ------
    Refusal: ``specification-missing``.
    """
    if line["alpha"] is None:
        raise _specification_missing(line)
    return Hop(
        name=line["name"],
        grams=grams,
        alpha=line["alpha"],
        minutes=float(line["minutes"]),
        use=Use(line["use"]),
        role=HopRole(line["role"]) if line["role"] else HopRole.HOLD_WEIGHT,
        form_factor=form_factor,
        least_minutes=line["least_minutes"],
        most_minutes=line["most_minutes"],
    )


def _stand(content: MethodContent) -> Stand | None:
    minutes, from_c, to_c = (
        content["stand_minutes"],
        content["stand_from_c"],
        content["stand_to_c"],
    )
    if minutes is None or from_c is None or to_c is None:
        return None
    return Stand(minutes=float(minutes), from_c=from_c, to_c=to_c)


def line_content(line: Line) -> LineContent:
    """Return one line's content from the rows as they are now; a row not kept has no substitute."""
    goods = _goods_content(line.item)
    if line.reference_alpha is not None:
        goods["alpha"] = line.reference_alpha
    return LineContent(
        **goods,
        use=line.use,
        minutes=line.minutes,
        least_minutes=line.least_minutes,
        most_minutes=line.most_minutes,
        quantity=line.quantity,
        role=line.role,
        substitutes=[substitute_content(each) for each in line.substitutes.all()]
        if line.pk
        else [],
    )


def substitute_content(substitute: Substitute) -> SubstituteContent:
    """Return what stands for a line, from the rows as they are now."""
    goods = _goods_content(substitute.item)
    return SubstituteContent(**goods, ratio=substitute.ratio, note=substitute.note)


def _goods_content(item: Item) -> GoodsContent:
    hop: HopSpec | None = getattr(item, "hop", None)
    return GoodsContent(
        item=item.code,
        name=item.name,
        kind=item.kind,
        measure=item.measure,
        alpha=hop.planning_alpha if hop else None,
        form=hop.form if hop else "",
        container=item.container_quantity,
        malt=_malt_content(item),
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
        family=malt.family,
    )


def _yeast_content(option: YeastOption) -> YeastContent:
    return YeastContent(
        **_strain_content(option.item),
        substitutes=[_strain_content(each.item) for each in option.substitutes.all()],
    )


def _strain_content(item: Item) -> StrainContent:
    spec: YeastSpec = item.yeast
    return StrainContent(
        item=item.code,
        name=item.name,
        form=spec.form,
        attenuation=spec.attenuation,
        cells_per_pack=spec.cells_per_pack,
        pack_grams=spec.pack_grams,
        pitch_million=spec.pitch_million,
        dose_g_per_hl=spec.dose_g_per_hl,
        strain_group=spec.strain_group,
    )


def _specification_missing(line: LineContent) -> Refusal:
    """Return the refusal of a line whose item has no specification to compute with."""
    return Refusal(
        "specification-missing",
        f"{line['name']} ({line['item']}) has no {line['kind']} specification.",
        "Complete the item in the catalogue.",
    )
