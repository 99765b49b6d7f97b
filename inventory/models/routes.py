"""Which way stock may go for which reason. The ledger asks before it posts, and verifies after."""

from __future__ import annotations

from inventory.models.ledger import PostingKind
from inventory.models.places import PlaceKind

Route = tuple[PlaceKind, PlaceKind]

ROUTES: dict[PostingKind, frozenset[Route]] = {
    PostingKind.OPENING: frozenset({(PlaceKind.SUPPLIER, PlaceKind.STORAGE)}),
    PostingKind.RECEIPT: frozenset({(PlaceKind.SUPPLIER, PlaceKind.STORAGE)}),
    PostingKind.TRANSFER: frozenset({(PlaceKind.STORAGE, PlaceKind.STORAGE)}),
    PostingKind.COUNT: frozenset(
        {(PlaceKind.STORAGE, PlaceKind.CORRECTION), (PlaceKind.CORRECTION, PlaceKind.STORAGE)}
    ),
    PostingKind.WASTE: frozenset({(PlaceKind.STORAGE, PlaceKind.WASTE)}),
    PostingKind.SAMPLE: frozenset({(PlaceKind.STORAGE, PlaceKind.WASTE)}),
    PostingKind.GIVEN_AWAY: frozenset({(PlaceKind.STORAGE, PlaceKind.CUSTOMER)}),
    PostingKind.CONVERSION: frozenset(
        {
            (PlaceKind.STORAGE, PlaceKind.PRODUCTION),
            (PlaceKind.PRODUCTION, PlaceKind.STORAGE),
            (PlaceKind.STORAGE, PlaceKind.WASTE),  # what the work lost
        }
    ),
    PostingKind.DISPATCH: frozenset({(PlaceKind.STORAGE, PlaceKind.CUSTOMER)}),
}

USES = frozenset({PlaceKind.PRODUCTION, PlaceKind.CUSTOMER})
"""Stock that goes here must be released and not expired."""

SOURCES = frozenset({PlaceKind.SUPPLIER, PlaceKind.PRODUCTION})
"""Stock that comes from here into storage is new to the house."""

OF_WORK = frozenset({PostingKind.CONVERSION, PostingKind.DISPATCH})
"""What a piece of work posts; each piece posts once, and ends when that is taken back."""
