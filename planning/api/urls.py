"""Addresses of planning's API."""

from __future__ import annotations

from django.urls import path

from planning.api.allocation import Allocate, AllocationInFull, AllocationReserve
from planning.api.batches import BatchPack
from planning.api.contracts import Contracts
from planning.api.customer_orders import (
    CustomerOrderCancel,
    CustomerOrderChange,
    CustomerOrderInFull,
    CustomerOrders,
)
from planning.api.demand import DemandWeeks
from planning.api.dispatches import (
    DispatchBoard,
    DispatchChoices,
    Dispatches,
    DispatchInFull,
    DispatchUndo,
    OrderDispatch,
)
from planning.api.orders import (
    KitCosts,
    PurchaseOrderCancel,
    PurchaseOrderInFull,
    PurchaseOrderReceive,
    PurchaseOrders,
    PurchaseOrdersDraft,
    PurchaseOrderSend,
    ReceiptUndo,
)
from planning.api.outlooks import CoverNow, MixNow, WhatIfCompared, WhatIfs
from planning.api.plan import PlanInFull, PlanItemPhases, PlanKeep, PlanTakeUp
from planning.api.proposals import (
    ProposalAccept,
    ProposalInFull,
    ProposalRefuse,
    Proposals,
    Rebalance,
)
from planning.api.purchases import PurchaseList, PurchaseWorkbook
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
    path("allocation/", AllocationInFull.as_view(), name="api-allocation"),
    path("allocation/search/", Allocate.as_view(), name="api-allocation-search"),
    path(
        "allocation/<int:plan_id>/runs/<int:run_id>/reserve/",
        AllocationReserve.as_view(),
        name="api-allocation-reserve",
    ),
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
    path("dispatch/", DispatchBoard.as_view(), name="api-dispatch-board"),
    path(
        "dispatch/orders/<int:order_id>/choices/",
        DispatchChoices.as_view(),
        name="api-dispatch-choices",
    ),
    path(
        "dispatch/orders/<int:order_id>/dispatch/",
        OrderDispatch.as_view(),
        name="api-order-dispatch",
    ),
    path("dispatches/", Dispatches.as_view(), name="api-dispatch-list"),
    path("dispatches/<int:dispatch_id>/", DispatchInFull.as_view(), name="api-dispatch-detail"),
    path("dispatches/<int:dispatch_id>/undo/", DispatchUndo.as_view(), name="api-dispatch-undo"),
    path("yeast/", YeastReport.as_view(), name="api-yeast"),
    path("cover/", CoverNow.as_view(), name="api-cover"),
    path("mix/", MixNow.as_view(), name="api-mix"),
    path("what-if/", WhatIfs.as_view(), name="api-what-if-list"),
    path("what-if/<int:what_if_id>/", WhatIfCompared.as_view(), name="api-what-if-compared"),
    path("plan/", PlanInFull.as_view(), name="api-plan"),
    path("plan/items/<int:item_id>/", PlanItemPhases.as_view(), name="api-plan-item"),
    path("plan/keep/", PlanKeep.as_view(), name="api-plan-keep"),
    path("plan/take-up/", PlanTakeUp.as_view(), name="api-plan-take-up"),
    path("purchase-list/", PurchaseList.as_view(), name="api-purchase-list"),
    path("purchase-list.xlsx", PurchaseWorkbook.as_view(), name="api-purchase-list-xlsx"),
    path("purchase-orders/", PurchaseOrders.as_view(), name="api-purchase-order-list"),
    path("purchase-orders/draft/", PurchaseOrdersDraft.as_view(), name="api-purchase-order-draft"),
    path(
        "purchase-orders/<int:order_id>/",
        PurchaseOrderInFull.as_view(),
        name="api-purchase-order-detail",
    ),
    path(
        "purchase-orders/<int:order_id>/send/",
        PurchaseOrderSend.as_view(),
        name="api-purchase-order-send",
    ),
    path(
        "purchase-orders/<int:order_id>/cancel/",
        PurchaseOrderCancel.as_view(),
        name="api-purchase-order-cancel",
    ),
    path(
        "purchase-orders/<int:order_id>/receive/",
        PurchaseOrderReceive.as_view(),
        name="api-purchase-order-receive",
    ),
    path("receipts/<int:receipt_id>/undo/", ReceiptUndo.as_view(), name="api-receipt-undo"),
    path("kit-costs/", KitCosts.as_view(), name="api-kit-cost-list"),
    path("contracts/", Contracts.as_view(), name="api-contract-list"),
    path("demand/", DemandWeeks.as_view(), name="api-demand"),
    path("customer-orders/", CustomerOrders.as_view(), name="api-customer-order-list"),
    path(
        "customer-orders/<int:order_id>/",
        CustomerOrderInFull.as_view(),
        name="api-customer-order-detail",
    ),
    path(
        "customer-orders/<int:order_id>/change/",
        CustomerOrderChange.as_view(),
        name="api-customer-order-change",
    ),
    path(
        "customer-orders/<int:order_id>/cancel/",
        CustomerOrderCancel.as_view(),
        name="api-customer-order-cancel",
    ),
]
