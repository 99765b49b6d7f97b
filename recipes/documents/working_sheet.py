"""The figures of a kit, or of the methods of a revision, as a paper that shows their working."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from boxwort.errors import Refusal
from boxwort.papers.printing import Reader
from boxwort.papers.workings import Section, workings_pdf
from boxwort.quantities import Measure, read_naturally
from boxwort.working import Working
from recipes.brewing.figures import Figures
from recipes.queries.brew_day import BrewDay
from recipes.queries.colours import screen_colour
from recipes.queries.kits import KitDetail
from recipes.queries.recipes import RecipeDetail


def kit_workings_pdf(kit: KitDetail, day: BrewDay, *, reader: Reader) -> bytes:
    """Return the figures of a kit and its brew day with their working.

    Raises
    ------
    Refusal: ``no-figures`` of a kit whose design cannot be brewed.
    """
    if kit.figures is None:
        raise Refusal(
            "no-figures",
            f"Kit {kit.row.code} has no figures to show the working of. {kit.problem}",
            "Correct its method first.",
        )
    row = kit.row
    frozen = "frozen when the kit was offered" if row.offered else "as they would be today"
    return workings_pdf(
        [
            Section(title="The beer", figures=tuple(beer_figures(kit.figures))),
            Section(title="Brew day", figures=day.workings, note=" ".join(day.missing)),
        ],
        title=f"{row.name}: the figures and their working",
        lead=f"{row.code}, {row.method_label.lower()}, {_volume(row.volume, reader.units)}, of "
        f"{row.recipe_name} revision {row.revision_number}. The figures of the beer are {frozen}.",
        reader=reader,
    )


def revision_workings_pdf(
    detail: RecipeDetail, days: Mapping[int, BrewDay], *, reader: Reader
) -> bytes:
    """Return the figures of every method of a revision with their working.

    Parameters
    ----------
    days: the brew-day figures by method.

    Raises
    ------
    Refusal: ``no-figures`` of a revision without a method that can be brewed.
    """
    sections = list(_methods(detail, days, reader.units))
    if detail.revision is None or not sections:
        raise Refusal(
            "no-figures",
            f"{detail.recipe.name} has no figures to show the working of.",
            "Write a method that can be brewed first.",
        )
    number, state = detail.revision.number, detail.revision.state_label.lower()
    return workings_pdf(
        sections,
        title=f"{detail.recipe.name}: the figures and their working",
        lead=f"{detail.recipe.code}, revision {number}, {state}.",
        reader=reader,
    )


def beer_figures(figures: Figures) -> Iterator[Working]:
    """Yield the figures of a beer in the order that pages show them."""
    yield from (figures.og, figures.fg, figures.abv, figures.ibu, figures.srm)
    yield screen_colour(figures.srm.value).working
    yield figures.boil_gravity
    if figures.power:
        yield figures.power


def _methods(detail: RecipeDetail, days: Mapping[int, BrewDay], units: str) -> Iterator[Section]:
    for method in detail.methods:
        size = _volume(method.finished_volume, units)
        if method.figures:
            yield Section(
                title=method.label,
                figures=tuple(beer_figures(method.figures)),
                note=f"By the amounts written for {size}.",
            )
            day = days[method.id]
            yield Section(
                title=f"Brew day, {method.label.lower()}",
                figures=day.workings,
                note=" ".join(day.missing),
            )


def _volume(microlitres: int, units: str) -> str:
    return read_naturally(microlitres, Measure.VOLUME, units)
