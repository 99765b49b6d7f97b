"""Addresses of planning."""

from __future__ import annotations

from django.urls import path

from planning.web import (
    batches,
    imports,
    lot_runs,
    proposals,
    purchases,
    run_acts,
    run_planning,
    runs,
    sheets,
    today,
    yeasts,
)

urlpatterns = [
    path("", today.today, name="today"),
    path("runs/", runs.run_list, name="run-list"),
    path("runs/new/", run_planning.run_new, name="run-new"),
    path("runs/preview/", run_planning.run_preview, name="run-preview"),
    path("runs/named/<slug:code>/", runs.run_named, name="run-named"),
    path("runs/<int:run_id>/", runs.run_detail, name="run-detail"),
    path("runs/<int:run_id>/cut/", runs.run_cut, name="run-cut"),
    path("runs/<int:run_id>/change/", run_planning.run_change, name="run-change"),
    path("runs/<int:run_id>/reserve/", run_acts.run_reserve, name="run-reserve"),
    path("runs/<int:run_id>/give-back/", run_acts.run_give_back, name="run-give-back"),
    path("runs/<int:run_id>/start/", run_acts.run_start, name="run-start"),
    path("runs/<int:run_id>/close/", run_acts.run_close, name="run-close"),
    path("runs/<int:run_id>/cancel/", run_acts.run_cancel, name="run-cancel"),
    path("runs/<int:run_id>/pick-list.pdf", sheets.pick_list_paper, name="pick-list-pdf"),
    path("batches/<int:batch_id>/pack/", batches.batch_pack, name="batch-pack"),
    path("batches/<int:batch_id>/undo/", batches.batch_undo, name="batch-undo"),
    path("sheets/<int:sheet_id>/", sheets.sheet_detail, name="sheet-detail"),
    path("sheets/<int:sheet_id>/weigh.pdf", sheets.weigh_sheet_paper, name="weigh-sheet-pdf"),
    path(
        "sheets/<int:sheet_id>/instructions.pdf",
        sheets.instruction_sheet_paper,
        name="instruction-sheet-pdf",
    ),
    path("lots/<int:lot_id>/runs/", lot_runs.lot_runs, name="lot-runs"),
    path("proposals/", proposals.proposal_list, name="proposal-list"),
    path("proposals/<int:proposal_id>/", proposals.proposal_detail, name="proposal-detail"),
    path("proposals/<int:proposal_id>/accept/", proposals.proposal_accept, name="proposal-accept"),
    path("proposals/<int:proposal_id>/refuse/", proposals.proposal_refuse, name="proposal-refuse"),
    path("rebalance/", proposals.rebalance_ask, name="rebalance-ask"),
    path("purchase-list/", purchases.purchase_list, name="purchase-list"),
    path("purchase-list.xlsx", purchases.purchase_workbook, name="purchase-list-xlsx"),
    path("demand/", purchases.demand_list, name="demand-list"),
    path("yeast/", yeasts.yeast_list, name="yeast-list"),
    path("import/", imports.import_new, name="import-new"),
    path("import/blank.xlsx", imports.import_blank, name="import-blank"),
    path("import/<int:job_id>/", imports.import_detail, name="import-detail"),
    path("import/<int:job_id>/progress/", imports.import_progress, name="import-progress"),
]
