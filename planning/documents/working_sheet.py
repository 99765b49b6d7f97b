"""The figures of a batch as a paper that shows their working: as frozen, and as known today."""

from __future__ import annotations

from collections.abc import Iterator

from boxwort.papers.printing import Reader
from boxwort.papers.workings import Section, workings_pdf
from planning.queries.batch_workings import BatchWorkings


def batch_workings_pdf(found: BatchWorkings, *, reader: Reader) -> bytes:
    """Return the figures of a batch with their working."""
    return workings_pdf(
        list(_sections(found)),
        title=f"Batch {found.code}: the figures and their working",
        lead=f"{found.kit_name}, {found.kits:,} kits of run {found.run_code}.",
        reader=reader,
    )


def _sections(found: BatchWorkings) -> Iterator[Section]:
    sheet = f"As sheet {found.sheet_number} was issued with." if found.sheet_number else ""
    yield Section(title="Bitterness by its sheet", figures=found.balance, note=sheet)
    yield Section(
        title="Alpha acid of its hop lots on brew day",
        figures=found.alphas,
        note="By what is known of the lots today; the sheet keeps what was known when it was "
        "issued.",
    )
    yield Section(
        title="The beer from these lots",
        figures=[row.made for row in found.beer.rows],
        note=" ".join(found.beer.notes),
    )
    yield Section(
        title="The beer by design",
        figures=[row.design for row in found.beer.rows],
        note="Frozen when the kit was offered.",
    )
    yield Section(title="Yeast on brew day", figures=found.yeast)
    yield Section(title="Best before", figures=found.best_before)
    yield Section(title="Brew day", figures=found.brew_day, note=sheet)
