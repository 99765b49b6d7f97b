"""The tables of the recipe room."""

from recipes.models.kits import Kit, KitBillLine, KitPart, Part
from recipes.models.methods import Line, Method
from recipes.models.recipes import Recipe, Revision, RevisionState, YeastOption

__all__ = [
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
