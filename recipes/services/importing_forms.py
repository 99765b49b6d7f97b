"""The forms of the sheets that the recipe room reads: their columns, units and words."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from boxwort.sheets import cells
from boxwort.sheets.forms import AmountColumns, Column, SheetForm, column, optional
from recipes.models import MOST_KITS, Contents, Part, RevisionState
from recipes.models.methods import METHOD_CHOICES, ROLE_CHOICES, USE_CHOICES

STATES_WANTED = [
    (state.value, state.label) for state in RevisionState if state is not RevisionState.RETIRED
]
# the label of an extract method tells of its grain; in a sheet the one word is enough
METHOD_WORDS = {**dict(METHOD_CHOICES), "extract": "Extract"}


def _volume(name: str, what: str) -> Column:
    readers = {f"{what} ({symbol})": cells.stock_of(symbol) for symbol in ("L", "US gal")}
    return Column(name=name, readers=readers)


def _temperature(name: str, what: str, default: Any = None) -> Column:
    readers = {
        f"{what} (°C)": cells.measured(least=-5, most=110),
        f"{what} (°F)": cells.fahrenheit,
    }
    return Column(name=name, readers=readers, required=False, default=default)


RECIPES = SheetForm(
    name="Recipes",
    unique=("code",),
    columns=(
        column("code", "Code", cells.code),
        column("name", "Name", cells.text(120)),
        optional("style", "Style", cells.text(80), ""),
        optional("state", "State", cells.choice(dict(STATES_WANTED)), RevisionState.DRAFT.value),
        optional("notes", "Notes", cells.text(400), ""),
    ),
)
METHODS = SheetForm(
    name="Methods",
    unique=("recipe", "kind"),
    columns=(
        column("recipe", "Recipe", cells.code),
        column("kind", "Method", cells.choice(METHOD_WORDS)),
        _volume("finished_volume", "Finished volume"),
        _volume("pre_boil_volume", "Before the boil"),
        _volume("post_boil_volume", "After the boil"),
        optional("boil_minutes", "Boil (min)", cells.whole(most=600), 60),
        optional("mash_efficiency", "Mash efficiency (%)", cells.percent, 0.75),
        _temperature("mash_temperature_c", "Mash temperature"),
        _temperature("ferment_temperature_c", "Fermentation temperature", 20.0),
        optional("steps", "Steps", cells.text(cells.LONGEST_TEXT), ""),
        optional("attenuation", "Attenuation (%)", cells.percent),
        optional("stand_minutes", "Stand (min)", cells.whole(least=1, most=600)),
        _temperature("stand_from_c", "Stand from"),
        _temperature("stand_to_c", "Stand to"),
        optional("first_wort_minutes", "First wort counts as (min)", cells.whole(most=600)),
        optional("carbonation_volumes", "Carbonation (volumes)", cells.measured(least=0, most=5)),
        optional("heavy_bottles", "Heavy bottles", cells.yes_no, default=False),
        optional("mash_l_per_kg", "Mash water (L/kg)", cells.measured(least=1, most=10)),
        _temperature("grain_temperature_c", "Grain temperature"),
    ),
)
LINES = SheetForm(
    name="Lines",
    columns=(
        column("recipe", "Recipe", cells.code),
        column("method", "Method", cells.choice(METHOD_WORDS)),
        column("item", "Item", cells.code),
        column("use", "Use", cells.choice(dict(USE_CHOICES))),
        optional("minutes", "Minutes", cells.whole(most=600), 0),
        AmountColumns(name="amount"),
        optional("role", "Role", cells.choice(dict(ROLE_CHOICES))),
        optional("reference_alpha", "Reference alpha (%)", cells.percent),
        optional("least_minutes", "Least minutes", cells.whole(most=600)),
        optional("most_minutes", "Most minutes", cells.whole(most=600)),
        optional("note", "Note", cells.text(120), ""),
    ),
)
YEAST_OPTIONS = SheetForm(
    name="Yeast options",
    unique=("recipe", "item"),
    columns=(column("recipe", "Recipe", cells.code), column("item", "Item", cells.code)),
)
SUBSTITUTES = SheetForm(
    name="Substitutes",
    unique=("recipe", "method", "stands_for", "item"),
    columns=(
        column("recipe", "Recipe", cells.code),
        optional("method", "Method", cells.choice(METHOD_WORDS), ""),
        column("stands_for", "Line item", cells.code),
        column("item", "Item", cells.code),
        optional("ratio", "Ratio", cells.measured(least=0.01, most=100), 1.0),
        optional("note", "Note", cells.text(120), ""),
    ),
)
KITS = SheetForm(
    name="Kits",
    unique=("item",),
    columns=(
        column("item", "Item", cells.code),
        column("recipe", "Recipe", cells.code),
        column("method", "Method", cells.choice(METHOD_WORDS)),
        _volume("volume", "Volume"),
        optional("shelf_days", "Shelf allowance (days)", cells.whole(most=1000), 90),
        optional("contents", "Contents", cells.choice(dict(Contents.choices)), Contents.KIT.value),
        optional("yeast_part", "Yeast part", cells.choice(dict(Part.choices)), Part.DISPATCH.value),
        optional("grain_part", "Grain part", cells.choice(dict(Part.choices)), Part.PACKED.value),
        optional("price", "Price", cells.money, 0),
        optional("target_share", "Pitch target (%)", cells.percent),
        optional("floor_share", "Pitch floor (%)", cells.percent),
        optional("first_pack_on", "First packed", cells.day),
        optional("last_pack_on", "Last packed", cells.day),
        optional("last_sale_on", "Last sold", cells.day),
        optional("minimum_kits", "Least kits of a run", cells.whole(least=1, most=MOST_KITS), 1),
        optional("multiple_kits", "In multiples of", cells.whole(least=1, most=MOST_KITS), 1),
    ),
)
KIT_PARTS = SheetForm(
    name="Kit parts",
    unique=("kit", "item", "part"),
    columns=(
        column("kit", "Kit", cells.code),
        column("item", "Item", cells.code),
        AmountColumns(name="amount"),
        optional("part", "Part", cells.choice(dict(Part.choices)), Part.PACKED.value),
    ),
)


def _ranges() -> Iterator[Column]:
    """Yield the columns of a style's figures, under the titles of people and of published lists."""
    units = {"ibu": "IBU", "srm": "SRM", "abv": "ABV (%)", "og": "OG", "fg": "FG"}
    readers = {figure: cells.measured(least=0, most=200) for figure in units}
    readers |= {figure: cells.measured(least=0.98, most=1.2) for figure in ("og", "fg")}
    for figure, unit in units.items():
        for end, word in (("min", "from"), ("max", "to")):
            name = f"{figure}_{end}"
            symbol, _, bracket = unit.partition(" ")
            title = f"{symbol} {word} {bracket}".strip()
            yield Column(name=name, readers={title: readers[figure], name: readers[figure]})


STYLES = SheetForm(
    name="Styles",
    unique=("code",),
    columns=(
        column("code", "Code", cells.code),
        column("name", "Name", cells.text(80)),
        *_ranges(),
    ),
)
FORMS = (STYLES, RECIPES, METHODS, LINES, YEAST_OPTIONS, SUBSTITUTES, KITS, KIT_PARTS)
