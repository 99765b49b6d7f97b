"""The tables of the recipe room."""

from recipes.models.kits import (
    MOST_KITS,
    Contents,
    Kit,
    KitBillLine,
    KitBillSubstitute,
    KitPart,
    Part,
)
from recipes.models.methods import Line, Method
from recipes.models.recipes import Recipe, Revision, RevisionState, YeastOption
from recipes.models.styles import Style
from recipes.models.substitutes import Substitute
from recipes.models.trials import TrialBatch
from recipes.models.typed import TypedMethod

__all__ = [
    "MOST_KITS",
    "Contents",
    "Kit",
    "KitBillLine",
    "KitBillSubstitute",
    "KitPart",
    "Line",
    "Method",
    "Part",
    "Recipe",
    "Revision",
    "RevisionState",
    "Style",
    "Substitute",
    "TrialBatch",
    "TypedMethod",
    "YeastOption",
]
