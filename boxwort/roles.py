"""Who may do what: one table, read by the pages, the API and the test that walks the doors.

A door (a page, an API operation) names one right; the table says which roles hold it. A door that
names no right is a fault that the tests find, and it is closed to everybody until it does.
"""

from __future__ import annotations

from enum import StrEnum


class Role(StrEnum):
    """What a person does in the house."""

    OWNER = "owner"
    DEVELOPER = "developer"
    PLANNER = "planner"
    PACKER = "packer"
    VIEWER = "viewer"


class Right(StrEnum):
    """One thing a door lets a person do."""

    READ = "read"
    KEEP_CATALOGUE = "keep-catalogue"
    RECEIVE_LOT = "receive-lot"
    RECORD_ANALYSIS = "record-analysis"
    RELEASE_LOT = "release-lot"
    MOVE_STOCK = "move-stock"
    WORK_ON_LOT = "work-on-lot"
    CORRECT_STOCK = "correct-stock"
    WRITE_RECIPE = "write-recipe"
    OFFER_REVISION = "offer-revision"
    PLAN_RUN = "plan-run"
    RESERVE_RUN = "reserve-run"
    PACK_RUN = "pack-run"
    DECIDE_PROPOSAL = "decide-proposal"
    BUY = "buy"
    TAKE_ORDER = "take-order"
    DISPATCH = "dispatch"
    IMPORT_WORKBOOK = "import-workbook"
    RUN_JOB = "run-job"
    ADD_PERSON = "add-person"
    KEEP_HOUSE = "keep-house"


_EVERYBODY = frozenset(Role)
_OWNER = frozenset({Role.OWNER})

ROLES_WITH: dict[Right, frozenset[Role]] = {
    Right.READ: _EVERYBODY,
    Right.KEEP_CATALOGUE: _OWNER | {Role.PLANNER},
    Right.RECEIVE_LOT: _OWNER | {Role.PLANNER, Role.PACKER},
    Right.RECORD_ANALYSIS: _OWNER | {Role.PLANNER, Role.DEVELOPER},
    Right.RELEASE_LOT: _OWNER | {Role.PLANNER},
    Right.MOVE_STOCK: _OWNER | {Role.PLANNER, Role.PACKER},
    Right.WORK_ON_LOT: _OWNER | {Role.PLANNER, Role.PACKER},
    Right.CORRECT_STOCK: _OWNER | {Role.PLANNER},
    Right.WRITE_RECIPE: _OWNER | {Role.DEVELOPER},
    Right.OFFER_REVISION: _OWNER | {Role.DEVELOPER},
    Right.PLAN_RUN: _OWNER | {Role.PLANNER},
    Right.RESERVE_RUN: _OWNER | {Role.PLANNER},
    Right.PACK_RUN: _OWNER | {Role.PLANNER, Role.PACKER},
    Right.DECIDE_PROPOSAL: _OWNER | {Role.PLANNER},
    Right.BUY: _OWNER | {Role.PLANNER},
    Right.TAKE_ORDER: _OWNER | {Role.PLANNER},
    Right.DISPATCH: _OWNER | {Role.PLANNER, Role.PACKER},
    Right.IMPORT_WORKBOOK: _OWNER,
    Right.RUN_JOB: _OWNER | {Role.PLANNER, Role.DEVELOPER},
    Right.ADD_PERSON: _OWNER,
    Right.KEEP_HOUSE: _OWNER,
}


def may(role: str, right: Right) -> bool:
    """Return whether a person in this role holds the right."""
    return role in ROLES_WITH[right]
