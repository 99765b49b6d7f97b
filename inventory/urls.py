"""Addresses of inventory."""

from __future__ import annotations

from django.urls import path

from inventory.web import (
    analyses,
    blending,
    breaking_down,
    conversions,
    item_ordering,
    items,
    lots,
    postings,
    receiving,
    repacking,
    stock_acts,
    suppliers,
    verdicts,
)

urlpatterns = [
    path("lots/", lots.lot_list, name="lot-list"),
    path("lots/new/", receiving.lot_new, name="lot-new"),
    path("lots/named/<slug:code>/", lots.lot_named, name="lot-named"),
    path("lots/<int:lot_id>/", lots.lot_detail, name="lot-detail"),
    path("lots/<int:lot_id>/analysis/", analyses.lot_analysis, name="lot-analysis"),
    path("lots/<int:lot_id>/release/", verdicts.lot_release, name="lot-release"),
    path("lots/<int:lot_id>/hold/", verdicts.lot_hold, name="lot-hold"),
    path("lots/<int:lot_id>/reject/", verdicts.lot_reject, name="lot-reject"),
    path("lots/<int:lot_id>/move/", stock_acts.lot_move, name="lot-move"),
    path("lots/<int:lot_id>/count/", stock_acts.lot_count, name="lot-count"),
    path("lots/<int:lot_id>/scrap/", stock_acts.lot_scrap, name="lot-scrap"),
    path("lots/<int:lot_id>/repack/", repacking.lot_repack, name="lot-repack"),
    path("lots/<int:lot_id>/mill/", repacking.lot_mill, name="lot-mill"),
    path("lots/<int:lot_id>/decant/", repacking.lot_decant, name="lot-decant"),
    path("lots/<int:lot_id>/blend/", blending.lot_blend, name="lot-blend"),
    path("lots/<int:lot_id>/break-down/", breaking_down.lot_break_down, name="lot-break-down"),
    path("conversions/", conversions.conversion_list, name="conversion-list"),
    path("conversions/new/", conversions.conversion_new, name="conversion-new"),
    path("conversions/<int:work_id>/", conversions.conversion_detail, name="conversion-detail"),
    path("conversions/<int:work_id>/undo/", conversions.conversion_undo, name="conversion-undo"),
    path("postings/<int:posting_id>/reverse/", postings.posting_reverse, name="posting-reverse"),
    path("items/", items.item_list, name="item-list"),
    path("items/<int:item_id>/", items.item_detail, name="item-detail"),
    path("items/<int:item_id>/ordering/", item_ordering.item_ordering, name="item-ordering"),
    path("items/<int:item_id>/crops/new/", item_ordering.crop_new, name="crop-new"),
    path("crops/<int:crop_id>/remove/", item_ordering.crop_remove, name="crop-remove"),
    path("suppliers/", suppliers.supplier_list, name="supplier-list"),
    path("suppliers/new/", suppliers.supplier_new, name="supplier-new"),
    path("suppliers/<int:supplier_id>/", suppliers.supplier_detail, name="supplier-detail"),
    path("suppliers/<int:supplier_id>/change/", suppliers.supplier_change, name="supplier-change"),
    path("suppliers/<int:supplier_id>/offers/new/", suppliers.offer_new, name="offer-new"),
    path("offers/<int:offer_id>/change/", suppliers.offer_change, name="offer-change"),
    path("offers/<int:offer_id>/contracts/new/", suppliers.contract_new, name="contract-new"),
    path("contracts/<int:contract_id>/change/", suppliers.contract_change, name="contract-change"),
]
