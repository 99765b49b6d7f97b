"""Recipes for reading: the list, and one recipe with the methods of a revision side by side."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from django.db.models import Prefetch, QuerySet

from boxwort.errors import Refusal
from boxwort.quantities import Measure
from recipes.brewing.figures import Figures
from recipes.models import Line, Method, Recipe, Revision, RevisionState, YeastOption
from recipes.models.recipes import FROZEN_STATES
from recipes.queries.contents import methods_in_full
from recipes.queries.figures import figures_of
from recipes.queries.obstacles import Obstacle, obstacles, warnings_of
from recipes.queries.packed_brews import house_scales
from recipes.queries.parity import TwinRow, twins
from recipes.queries.styles import NamedStyle, StyleCheck, style_of


@dataclass(frozen=True, kw_only=True)
class RevisionRow:
    """One revision of a recipe; ``offered_by`` is a name, empty while it is not offered."""

    id: int
    version: int
    number: int
    state: str
    state_label: str
    reason: str
    content_hash: str
    offered_at: datetime | None
    offered_by: str


@dataclass(frozen=True, kw_only=True)
class RecipeRow:
    """One recipe of the list; ``offered_number`` is its newest offered revision, if any."""

    id: int
    version: int
    code: str
    name: str
    style: str
    notes: str
    offered_number: int | None
    revisions: tuple[RevisionRow, ...]


@dataclass(frozen=True, kw_only=True)
class LineSubstituteRow:
    """What is approved in place of a line or a yeast; ``ratio`` is weight for a weight of 1."""

    id: int
    item_code: str
    item_name: str
    ratio: float
    note: str
    approved_by: str
    approved_at: datetime


@dataclass(frozen=True, kw_only=True)
class LineRow:
    """One addition of a method; ``quantity`` in units of stock."""

    id: int
    position: int
    item_id: int
    item_code: str
    item_name: str
    item_kind: str
    measure: Measure
    use: str
    use_label: str
    minutes: int
    quantity: int
    role: str
    role_label: str
    reference_alpha: float | None
    least_minutes: int | None
    most_minutes: int | None
    note: str
    substitutes: tuple[LineSubstituteRow, ...]


@dataclass(frozen=True, kw_only=True)
class MethodRow:
    """One method of a revision, volumes in microlitres.

    ``attenuation`` to ``grain_temperature_c`` are None where nothing is said. ``figures`` is None
    for a draft that cannot be computed; ``problem`` then says why. ``style`` is None without
    figures, or where the recipe names no style that is known.
    """

    id: int
    kind: str
    label: str
    finished_volume: int
    pre_boil_volume: int
    post_boil_volume: int
    boil_minutes: int
    mash_efficiency: float
    mash_temperature_c: float | None
    ferment_temperature_c: float
    attenuation: float | None
    stand_minutes: int | None
    stand_from_c: float | None
    stand_to_c: float | None
    first_wort_minutes: int | None
    carbonation_volumes: float | None
    mash_l_per_kg: float | None
    grain_temperature_c: float | None
    steps: str
    lines: tuple[LineRow, ...]
    figures: Figures | None
    problem: str
    style: StyleCheck | None


@dataclass(frozen=True, kw_only=True)
class YeastOptionRow:
    """One yeast of a revision, the usual one first; ``attenuation`` is a share."""

    id: int
    item_id: int
    item_code: str
    item_name: str
    form: str
    attenuation: float
    substitutes: tuple[LineSubstituteRow, ...]


@dataclass(frozen=True, kw_only=True)
class RecipeDetail:
    """A recipe with one revision chosen.

    ``obstacles`` say why a draft cannot be offered yet, ``warnings`` what to look at before.
    ``twins`` are its methods in pairs.
    """

    recipe: RecipeRow
    revision: RevisionRow | None
    methods: tuple[MethodRow, ...]
    yeasts: tuple[YeastOptionRow, ...]
    obstacles: tuple[Obstacle, ...]
    warnings: tuple[Obstacle, ...] = ()
    twins: tuple[TwinRow, ...] = ()


def recipe_rows() -> list[RecipeRow]:
    """Return every recipe by code, each with its revisions, newest first."""
    return [_recipe_row(recipe) for recipe in _recipes().order_by("code")]


def recipe_detail(code: str, number: int | None = None) -> RecipeDetail:
    """Return a recipe with the methods of one revision: the numbered, else offered, else newest.

    Raises
    ------
    Recipe.DoesNotExist, Revision.DoesNotExist: there is no such recipe or number.
    """
    row = _recipe_row(_recipes().get(code=code))
    revision = _chosen(row, number)
    if revision is None:
        return RecipeDetail(recipe=row, revision=None, methods=(), yeasts=(), obstacles=())
    methods = list(methods_in_full().filter(revision=revision.id))
    pairs = twins(methods, house_scales())
    yeasts = YeastOption.objects.filter(revision=revision.id).select_related("item__yeast")
    yeasts = yeasts.prefetch_related("substitutes__item", "substitutes__approved_by")
    frozen = revision.state in FROZEN_STATES
    style = style_of(row.style)
    return RecipeDetail(
        recipe=row,
        revision=revision,
        methods=tuple(_method_row(method, style) for method in methods),
        yeasts=tuple(_yeast_row(option) for option in yeasts.order_by("position")),
        obstacles=() if frozen else tuple(obstacles(revision.id)),
        warnings=tuple(warnings_of(methods, pairs)),
        twins=tuple(pairs),
    )


def _recipes() -> QuerySet[Recipe]:
    revisions = Revision.objects.select_related("offered_by").order_by("-number")
    return Recipe.objects.prefetch_related(Prefetch("revisions", revisions))


def _chosen(row: RecipeRow, number: int | None) -> RevisionRow | None:
    wanted = row.offered_number if number is None else number
    if wanted is None:
        return row.revisions[0] if row.revisions else None
    for revision in row.revisions:
        if revision.number == wanted:
            return revision
    raise Revision.DoesNotExist


def _recipe_row(recipe: Recipe) -> RecipeRow:
    revisions = tuple(_revision_row(revision) for revision in recipe.revisions.all())
    offered = [r.number for r in revisions if r.state == RevisionState.OFFERED]
    return RecipeRow(
        id=recipe.pk,
        version=recipe.version,
        code=recipe.code,
        name=recipe.name,
        style=recipe.style,
        notes=recipe.notes,
        offered_number=max(offered, default=None),
        revisions=revisions,
    )


def _revision_row(revision: Revision) -> RevisionRow:
    return RevisionRow(
        id=revision.pk,
        version=revision.version,
        number=revision.number,
        state=revision.state,
        state_label=revision.get_state_display(),
        reason=revision.reason,
        content_hash=revision.content_hash,
        offered_at=revision.offered_at,
        offered_by=revision.offered_by.named if revision.offered_by else "",
    )


def _method_row(method: Method, style: NamedStyle | None) -> MethodRow:
    try:
        figures, problem = figures_of(method), ""
    except Refusal as refusal:
        figures, problem = None, str(refusal)
    return MethodRow(
        id=method.pk,
        kind=method.kind,
        label=method.get_kind_display(),
        finished_volume=method.finished_volume,
        pre_boil_volume=method.pre_boil_volume,
        post_boil_volume=method.post_boil_volume,
        boil_minutes=method.boil_minutes,
        mash_efficiency=method.mash_efficiency,
        mash_temperature_c=method.mash_temperature_c,
        ferment_temperature_c=method.ferment_temperature_c,
        attenuation=method.attenuation,
        stand_minutes=method.stand_minutes,
        stand_from_c=method.stand_from_c,
        stand_to_c=method.stand_to_c,
        first_wort_minutes=method.first_wort_minutes,
        carbonation_volumes=method.carbonation_volumes,
        mash_l_per_kg=method.mash_l_per_kg,
        grain_temperature_c=method.grain_temperature_c,
        steps=method.steps,
        lines=tuple(_line_row(line) for line in method.lines.all()),
        figures=figures,
        problem=problem,
        style=style.check(figures) if style and figures else None,
    )


def _line_row(line: Line) -> LineRow:
    return LineRow(
        id=line.pk,
        position=line.position,
        item_id=line.item_id,
        item_code=line.item.code,
        item_name=line.item.name,
        item_kind=line.item.kind,
        measure=Measure(line.item.measure),
        use=line.use,
        use_label=line.get_use_display(),
        minutes=line.minutes,
        quantity=line.quantity,
        role=line.role,
        role_label=line.get_role_display(),
        reference_alpha=line.reference_alpha,
        least_minutes=line.least_minutes,
        most_minutes=line.most_minutes,
        note=line.note,
        substitutes=_substitute_rows(line),
    )


def _substitute_rows(stands_for: Line | YeastOption) -> tuple[LineSubstituteRow, ...]:
    return tuple(
        LineSubstituteRow(
            id=substitute.pk,
            item_code=substitute.item.code,
            item_name=substitute.item.name,
            ratio=substitute.ratio,
            note=substitute.note,
            approved_by=substitute.approved_by.named,
            approved_at=substitute.approved_at,
        )
        for substitute in stands_for.substitutes.all()
    )


def _yeast_row(option: YeastOption) -> YeastOptionRow:
    return YeastOptionRow(
        id=option.pk,
        item_id=option.item_id,
        item_code=option.item.code,
        item_name=option.item.name,
        form=option.item.yeast.form,
        attenuation=option.item.yeast.attenuation,
        substitutes=_substitute_rows(option),
    )
