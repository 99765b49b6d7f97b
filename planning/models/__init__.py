"""The tables of the planning room."""

from planning.models.batches import Allocation, Batch, BatchState
from planning.models.demand import Demand, DemandSource
from planning.models.orders import OrderState, PurchaseLine, PurchaseOrder
from planning.models.proposals import Proposal, ProposalState
from planning.models.runs import Run, RunLine, RunLineSubstitute, RunState
from planning.models.sheets import SheetRevision

__all__ = [
    "Allocation",
    "Batch",
    "BatchState",
    "Demand",
    "DemandSource",
    "OrderState",
    "Proposal",
    "ProposalState",
    "PurchaseLine",
    "PurchaseOrder",
    "Run",
    "RunLine",
    "RunLineSubstitute",
    "RunState",
    "SheetRevision",
]
