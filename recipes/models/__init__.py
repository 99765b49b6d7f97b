"""The tables of the recipe room."""

from recipes.models.kits import MOST_KITS, Kit, KitBillLine, KitPart, Part
from recipes.models.methods import Line, Method
from recipes.models.recipes import Recipe, Revision, RevisionState, YeastOption

__all__ = [
    "MOST_KITS",
    "Kit",
    "KitBillLine",
    "KitPart",
    "Line",
    "Method",
    "Part",
    "Recipe",
    "Revision",
    "RevisionState",
    "YeastOption",
]
