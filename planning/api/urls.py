"""Addresses of planning's API."""

from __future__ import annotations

from django.urls import path

from planning.api.batches import BatchPack
from planning.api.proposals import (
    ProposalAccept,
    ProposalInFull,
    ProposalRefuse,
    Proposals,
    Rebalance,
)
from planning.api.purchases import DemandWeeks, PurchaseList, PurchaseWorkbook
from planning.api.run_acts import (
    RunCancel,
    RunClose,
    RunGiveBack,
    RunReserve,
    RunStart,
    RunSubstitute,
)
from planning.api.runs import RunCut, RunInFull, Runs
from planning.api.workings import BatchFigures, BatchFiguresPaper, LotKitEffects
from planning.api.yeasts import YeastReport

urlpatterns = [
    path("runs/", Runs.as_view(), name="api-run-list"),
    path("runs/<int:run_id>/", RunInFull.as_view(), name="api-run-detail"),
    path("runs/<int:run_id>/cut/", RunCut.as_view(), name="api-run-cut"),
    path("runs/<int:run_id>/reserve/", RunReserve.as_view(), name="api-run-reserve"),
    path("runs/<int:run_id>/give-back/", RunGiveBack.as_view(), name="api-run-give-back"),
    path("runs/<int:run_id>/substitute/", RunSubstitute.as_view(), name="api-run-substitute"),
    path("runs/<int:run_id>/start/", RunStart.as_view(), name="api-run-start"),
    path("runs/<int:run_id>/close/", RunClose.as_view(), name="api-run-close"),
    path("runs/<int:run_id>/cancel/", RunCancel.as_view(), name="api-run-cancel"),
    path("batches/<int:batch_id>/pack/", BatchPack.as_view(), name="api-batch-pack"),
    path("batches/<int:batch_id>/figures/", BatchFigures.as_view(), name="api-batch-figures"),
    path(
        "batches/<int:batch_id>/figures.pdf",
        BatchFiguresPaper.as_view(),
        name="api-batch-figures-pdf",
    ),
    path("lots/<int:lot_id>/effects/", LotKitEffects.as_view(), name="api-lot-effects"),
    path("proposals/", Proposals.as_view(), name="api-proposal-list"),
    path("proposals/<int:proposal_id>/", ProposalInFull.as_view(), name="api-proposal-detail"),
    path(
        "proposals/<int:proposal_id>/accept/",
        ProposalAccept.as_view(),
        name="api-proposal-accept",
    ),
    path(
        "proposals/<int:proposal_id>/refuse/",
        ProposalRefuse.as_view(),
        name="api-proposal-refuse",
    ),
    path("rebalance/", Rebalance.as_view(), name="api-rebalance"),
    path("yeast/", YeastReport.as_view(), name="api-yeast"),
    path("purchase-list/", PurchaseList.as_view(), name="api-purchase-list"),
    path("purchase-list.xlsx", PurchaseWorkbook.as_view(), name="api-purchase-list-xlsx"),
    path("demand/", DemandWeeks.as_view(), name="api-demand"),
]
