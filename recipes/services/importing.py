"""What the recipe room takes from a workbook: styles; recipes whole, with all they hold; kits.

A recipe's rows are compared with the revisions that stand. Where one says the same, nothing is
written; a draft that differs is written anew; an offered revision never changes.
"""

from __future__ import annotations

from boxwort.sheets.checking import check_among, check_named
from boxwort.sheets.reading import Reading
from boxwort.sheets.saving import Saving
from inventory.services.importing import Catalogue
from inventory.services.importing_catalogue import check_measure, measures
from recipes.models import Method, Recipe, Style
from recipes.services.importing_forms import (
    FORMS,
    KIT_PARTS,
    KITS,
    LINES,
    METHODS,
    RECIPES,
    STYLES,
    SUBSTITUTES,
    YEAST_OPTIONS,
)
from recipes.services.importing_kits import save_kits
from recipes.services.importing_recipes import save_recipe
from recipes.services.styles import RANGE_NAMES, write_style

__all__ = ["FORMS", "check_recipes", "save_recipes"]


def check_recipes(reading: Reading, books: Catalogue) -> None:
    """Check what recipes and kits name, and the units of their amounts."""
    recipes = reading.named(RECIPES.name, "code")
    what, remedy = "The sheet “Recipes” has no such recipe.", "Correct the code, or add the recipe."
    for sheet in (METHODS, LINES, YEAST_OPTIONS, SUBSTITUTES):
        check_among(reading, sheet.name, "recipe", recipes, what, remedy)
    for sheet in (LINES, YEAST_OPTIONS, SUBSTITUTES, KITS, KIT_PARTS):
        check_named(
            reading, sheet.name, "item", in_sheet="Items", code="code", in_books=books.items
        )
    measured = measures(reading, books)
    for sheet in (LINES, KIT_PARTS):
        check_measure(reading, sheet.name, "item", "amount", measured)
    kits = reading.named(KITS.name, "item")
    what, remedy = "The sheet “Kits” has no such kit.", "Correct the code, or add the kit."
    check_among(reading, KIT_PARTS.name, "kit", kits, what, remedy)
    _check_methods(reading)
    _check_substitutes(reading)


def save_recipes(saving: Saving, books: Catalogue) -> None:
    """Write styles and recipes, then the kits of their methods."""
    _save_styles(saving)
    standing = set(Recipe.objects.values_list("code", flat=True))
    methods: dict[tuple[str, str], Method] = {}
    for row in saving.reading.sound(RECIPES.name):
        methods |= save_recipe(saving, row, books, new=row["code"] not in standing)
    save_kits(saving, books, methods)


def _save_styles(saving: Saving) -> None:
    standing = set(Style.objects.values_list("code", flat=True))
    for row in saving.reading.sound(STYLES.name):
        with saving.writing(row, new=row["code"] not in standing):
            ranges = {name: row[name] for name in RANGE_NAMES}
            write_style(by=saving.by, code=row["code"], name=row["name"], ranges=ranges)


def _check_substitutes(reading: Reading) -> None:
    """Check that each substitute stands for a line or a yeast that the workbook has."""
    known = {(row["recipe"], row["method"], row["item"]) for row in reading.rows[LINES.name]}
    known |= {(row["recipe"], "", row["item"]) for row in reading.rows[YEAST_OPTIONS.name]}
    for row in reading.sound(SUBSTITUTES.name):
        if (row["recipe"], row["method"], row["stands_for"]) not in known:
            row.sound = False
            what = f"{row['recipe']} has no such item in “Lines”, or in “Yeast options”."
            remedy = "Correct it; for a line give its method, for a yeast leave the method empty."
            reading.add(row, "stands_for", what, remedy)


def _check_methods(reading: Reading) -> None:
    """Check that each line and kit is of a method the workbook (for a kit: or the books) has."""
    here = {(row["recipe"], row["kind"]) for row in reading.rows[METHODS.name]}
    there = set(Method.objects.values_list("revision__recipe__code", "kind"))
    for sheet, known in ((LINES.name, here), (KITS.name, here | there)):
        for row in reading.sound(sheet):
            if (row["recipe"], row["method"]) not in known:
                row.sound = False
                what = f"{row['recipe']} has no such method in the sheet “Methods”."
                reading.add(row, "method", what, "Correct the method, or add it there.")
