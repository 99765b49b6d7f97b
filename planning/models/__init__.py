"""The tables of the planning room."""

from planning.models.batches import Allocation, Batch, BatchState
from planning.models.customers import CustomerOrder, CustomerOrderState, DispatchZone, OrderLine
from planning.models.dispatches import Dispatch, DispatchBox, DispatchPart
from planning.models.forecast import Forecast
from planning.models.orders import (
    ON_ORDER,
    OrderState,
    PurchaseLine,
    PurchaseOrder,
    Receipt,
    ReceiptLine,
)
from planning.models.plans import (
    ChangeKind,
    LotPlan,
    Plan,
    PlannedItem,
    PlannedOrder,
    WhatIf,
    WhatIfChange,
)
from planning.models.proposals import Proposal, ProposalState
from planning.models.runs import Run, RunLine, RunLineSubstitute, RunState
from planning.models.sheets import SheetRevision

__all__ = [
    "ON_ORDER",
    "Allocation",
    "Batch",
    "BatchState",
    "ChangeKind",
    "CustomerOrder",
    "CustomerOrderState",
    "Dispatch",
    "DispatchBox",
    "DispatchPart",
    "DispatchZone",
    "Forecast",
    "LotPlan",
    "OrderLine",
    "OrderState",
    "Plan",
    "PlannedItem",
    "PlannedOrder",
    "Proposal",
    "ProposalState",
    "PurchaseLine",
    "PurchaseOrder",
    "Receipt",
    "ReceiptLine",
    "Run",
    "RunLine",
    "RunLineSubstitute",
    "RunState",
    "SheetRevision",
    "WhatIf",
    "WhatIfChange",
]
