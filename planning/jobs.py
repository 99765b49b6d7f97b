"""The background work of planning, declared so that services can ask for it."""

from boxwort.jobs.kinds import JobKind

REBALANCE = JobKind(
    name="planning.rebalance",
    title="Re-balance hop weights",
    page="proposal-list",
    page_title="The proposals",
)
IMPORT_WORKBOOK = JobKind(name="planning.import_workbook", title="Import a workbook", attempts=2)
ALLOCATE = JobKind(
    name="planning.allocate",
    title="Search for a better allocation",
    attempts=2,
    page="allocation-board",
    page_title="The allocation",
)
