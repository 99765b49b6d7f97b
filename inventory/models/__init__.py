"""The tables of the stock room."""

from inventory.models.analyses import Analysis, AnalysisKind
from inventory.models.buying import Contract, PriceBreak, Supplier, SupplierItem
from inventory.models.conversions import (
    WORKS,
    Conversion,
    ConversionKind,
    ConversionState,
    Ending,
    Reservation,
)
from inventory.models.items import (
    CropYear,
    HopForm,
    HopSpec,
    Item,
    ItemKind,
    LotRule,
    MaltFamily,
    MaltSpec,
    YeastForm,
    YeastSpec,
)
from inventory.models.ledger import Balance, LotStock, Move, Posting, PostingKind
from inventory.models.lots import Lot, LotStatus, Packing
from inventory.models.places import Place, PlaceKind, PlaceTemperature

__all__ = [
    "WORKS",
    "Analysis",
    "AnalysisKind",
    "Balance",
    "Contract",
    "Conversion",
    "ConversionKind",
    "ConversionState",
    "CropYear",
    "Ending",
    "HopForm",
    "HopSpec",
    "Item",
    "ItemKind",
    "Lot",
    "LotRule",
    "LotStatus",
    "LotStock",
    "MaltFamily",
    "MaltSpec",
    "Move",
    "Packing",
    "Place",
    "PlaceKind",
    "PlaceTemperature",
    "Posting",
    "PostingKind",
    "PriceBreak",
    "Reservation",
    "Supplier",
    "SupplierItem",
    "YeastForm",
    "YeastSpec",
]
