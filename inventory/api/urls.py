"""Addresses of the stock room's API."""

from __future__ import annotations

from django.urls import path

from inventory.api.conversions import (
    ConversionBlend,
    ConversionBreakDown,
    ConversionDecant,
    ConversionDetail,
    ConversionMill,
    ConversionRepack,
    Conversions,
    ConversionUndo,
    LotContents,
)
from inventory.api.items import ItemDetail, Items
from inventory.api.lots import LotDetail, Lots
from inventory.api.suppliers import Offers, Suppliers
from inventory.api.verdicts import LotAnalysis, LotHold, LotReject, LotRelease

urlpatterns = [
    path("items/", Items.as_view(), name="api-item-list"),
    path("items/<int:item_id>/", ItemDetail.as_view(), name="api-item-detail"),
    path("suppliers/", Suppliers.as_view(), name="api-supplier-list"),
    path("offers/", Offers.as_view(), name="api-offer-list"),
    path("lots/", Lots.as_view(), name="api-lot-list"),
    path("lots/<int:lot_id>/", LotDetail.as_view(), name="api-lot-detail"),
    path("lots/<int:lot_id>/analyses/", LotAnalysis.as_view(), name="api-lot-analysis"),
    path("lots/<int:lot_id>/release/", LotRelease.as_view(), name="api-lot-release"),
    path("lots/<int:lot_id>/hold/", LotHold.as_view(), name="api-lot-hold"),
    path("lots/<int:lot_id>/reject/", LotReject.as_view(), name="api-lot-reject"),
    path("lots/<int:lot_id>/contents/", LotContents.as_view(), name="api-lot-contents"),
    path("conversions/", Conversions.as_view(), name="api-conversion-list"),
    path("conversions/repack/", ConversionRepack.as_view(), name="api-conversion-repack"),
    path("conversions/mill/", ConversionMill.as_view(), name="api-conversion-mill"),
    path("conversions/decant/", ConversionDecant.as_view(), name="api-conversion-decant"),
    path("conversions/blend/", ConversionBlend.as_view(), name="api-conversion-blend"),
    path(
        "conversions/break-down/", ConversionBreakDown.as_view(), name="api-conversion-break-down"
    ),
    path("conversions/<int:work_id>/", ConversionDetail.as_view(), name="api-conversion-detail"),
    path("conversions/<int:work_id>/undo/", ConversionUndo.as_view(), name="api-conversion-undo"),
]
