"""A method at another size beside the method as it is written."""

from __future__ import annotations

from dataclasses import dataclass

from boxwort.errors import Refusal
from recipes.brewing.figures import Figures
from recipes.brewing.parity import ParityRow, parity
from recipes.queries.bills import BillRow, BillTotal
from recipes.queries.contents import methods_in_full
from recipes.queries.figures import figures_of
from recipes.queries.kit_designs import ScaledDesign, scaled_design


@dataclass(frozen=True, kw_only=True)
class ScaledMethod:
    """The method that is scaled; ``figures`` are its own, None where ``problem`` says why.

    Attributes
    ----------
    volume, pre_boil_volume, post_boil_volume: as it is written, in microlitres.
    quantities: of its lines in units of stock, by line.
    """

    id: int
    label: str
    recipe_code: str
    recipe_name: str
    revision_number: int
    revision_state: str
    volume: int
    pre_boil_volume: int
    post_boil_volume: int
    figures: Figures | None
    problem: str
    quantities: dict[int, int]


@dataclass(frozen=True, kw_only=True)
class ScaledRow:
    """One row at the new size, what a number of kits takes, and the amount as it is written."""

    row: BillRow
    total: BillTotal
    original: int | None


@dataclass(frozen=True, kw_only=True)
class Scaling:
    """A method at another size. Boil volumes follow the finished volume, in microlitres.

    ``apart`` are the figures that whole containers and steps of a scale move past a twin's limit.
    """

    design: ScaledDesign
    rows: tuple[ScaledRow, ...]
    apart: tuple[ParityRow, ...]
    pre_boil_volume: int
    post_boil_volume: int


def scaled_method(method_id: int) -> ScaledMethod:
    """Return a method that is to be scaled.

    Raises
    ------
    Method.DoesNotExist: there is no such method.
    """
    method = methods_in_full().get(pk=method_id)
    try:
        figures, problem = figures_of(method), ""
    except Refusal as refusal:
        figures, problem = None, str(refusal)
    revision = method.revision
    return ScaledMethod(
        id=method.pk,
        label=method.get_kind_display(),
        recipe_code=revision.recipe.code,
        recipe_name=revision.recipe.name,
        revision_number=revision.number,
        revision_state=revision.state,
        volume=method.finished_volume,
        pre_boil_volume=method.pre_boil_volume,
        post_boil_volume=method.post_boil_volume,
        figures=figures,
        problem=problem,
        quantities={line.pk: line.quantity for line in method.lines.all()},
    )


def scaling(method: ScaledMethod, volume: int, kits: int) -> Scaling:
    """Return a method at a volume in microlitres, and what a number of kits would take.

    Raises
    ------
    Refusal: ``size-out-of-range``, ``kits-impossible``, or it cannot be brewed at this size.
    """
    design = scaled_design(method.id, volume, kits)
    return Scaling(
        design=design,
        rows=tuple(
            ScaledRow(row=row, total=total, original=method.quantities.get(row.line_id or 0))
            for row, total in zip(design.rows, design.totals, strict=True)
        ),
        apart=_apart(method.figures, design.figures),
        pre_boil_volume=round(method.pre_boil_volume * volume / method.volume),
        post_boil_volume=round(method.post_boil_volume * volume / method.volume),
    )


def _apart(written: Figures | None, here: Figures) -> tuple[ParityRow, ...]:
    if written is None:
        return ()
    rows = parity(written, here, same_yeasts=True).rows
    return tuple(row for row in rows if not row.within)
