"""The demonstration: Fernhollow Kit Works from a spreadsheet to packed kits, then the site."""

from __future__ import annotations

from argparse import ArgumentParser
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management import call_command
from django.core.management.base import CommandError
from django.utils import timezone

from boxwort.accounts.one_time import make_one_time_link
from boxwort.accounts.queries import house_user
from boxwort.figures import money
from boxwort.figures import share as percent
from boxwort.jobs.queries import job_row
from boxwort.quantities import Measure, read_naturally, shown
from boxwort.terminal import HouseCommand
from inventory.queries.conversions import work_rows
from planning.documents.papers import instruction_sheet_pdf, pick_list_pdf, weigh_sheet_pdf
from planning.documents.purchase_list import purchase_list_xlsx
from planning.management.story import (
    HELD,
    NEW_ALPHA,
    RELEASED,
    RETESTED,
    WEAKER,
    WEAKER_ALPHA,
    Story,
    owner_of_the_demo,
)
from planning.models import BatchState, Run
from planning.queries.picking import places_of
from planning.queries.proposals import proposal_rows
from planning.queries.purchasing import PurchasePlan, purchase_plan
from planning.queries.runs import BatchRow, batch_rows, run_rows
from planning.queries.yeast import Verdict, YeastLotRow, yeast_rows
from recipes.queries.kits import kit_rows
from recipes.queries.trials import trial_detail, trial_in_full, trial_rows


class Command(HouseCommand):
    """``manage.py demo``: the whole job on invented data, shown as it happens."""

    help = (
        "Show the whole job on an invented kit works: import its spreadsheet, plan and reserve a "
        "run, let a worker correct hop weights for a re-tested lot, pack, write the purchase list "
        "and the sheets, verify the ledger, then serve the site. Run again, it doubles nothing."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Take where the papers go, and whether and where to serve."""
        parser.add_argument("--no-serve", action="store_true", help="stop after the tables")
        parser.add_argument(
            "--out",
            type=Path,
            metavar="DIR",
            default=settings.DATA_DIR / "demo",
            help="folder for the purchase list and the sheets (default: %(default)s)",
        )
        parser.add_argument("--port", type=int, default=8000, help="port of the site")

    def handle(self, *_: Any, **options: Any) -> None:
        """Tell the story from import to ledger, then serve."""
        self._make_folder(options["out"])
        owner = owner_of_the_demo(by=house_user())
        story = Story(by=owner, today=timezone.localdate())
        self._import(story)
        run, second = story.plan_runs()
        self._kits_and_runs()
        story.reserve(run)
        story.reserve(second)
        self._news(story)
        story.accept(run)
        story.pack(run)
        story.store_room.brew_trials()
        story.store_room.work_on_lots()
        self._proposals()
        self._packed(run)
        self._trials()
        self._works()
        self._yeast(story)
        self._papers(story, run, options["out"])
        self._verify()
        if not options["no_serve"]:
            self._serve(make_one_time_link(owner), options["port"])

    def prepare(self) -> None:
        """Prepare the database, whichever it is."""
        call_command("migrate", interactive=False, verbosity=0)

    def _make_folder(self, out: Path) -> None:
        try:
            out.mkdir(parents=True, exist_ok=True)
        except OSError as problem:
            msg = f"{out} cannot be made: {problem.strerror}. Name another folder with --out."
            raise CommandError(msg) from None

    def _import(self, story: Story) -> None:
        self.heading("Imported from fixtures/fernhollow.xlsx")
        result = story.import_stock()
        self.show(
            ("sheet", "new", "changed", "unchanged"),
            [
                (sheet, count.new, count.changed, count.unchanged)
                for sheet, count in result.counts.items()
            ],
        )

    def _kits_and_runs(self) -> None:
        self.heading("Kits and their figures")
        self.show(
            ("kit", "volume", "OG", "FG", "ABV %", "IBU", "SRM"),
            [
                (
                    row.code,
                    shown(row.volume, "L", decimals=1),
                    f"{row.og:.3f}",
                    f"{row.fg:.3f}",
                    f"{row.abv:.1f}",
                    f"{row.ibu:.1f}",
                    f"{row.srm:.1f}",
                )
                for row in kit_rows()
                if row.offered
            ],
        )
        self.heading("Runs")
        self.show(
            ("run", "pack on", "state", "kits", "of"),
            [
                (row.code, row.pack_on, row.state_words, row.kits, _first(row.lines.split(", "), 2))
                for row in run_rows()
            ],
        )

    def _news(self, story: Story) -> None:
        self.heading("News of lots, worked on by a worker process")
        self.say(f"{RETESTED} was tested again: alpha acid {percent(NEW_ALPHA)}.")
        self.say(f"{WEAKER} was tested again: alpha acid {percent(WEAKER_ALPHA)}.")
        self.say(f"{HELD} was put on hold; {RELEASED} was released.")
        rows = [row for job in story.news_of_lots() if (row := job_row(job.pk))]
        self.show(
            ("job", "what", "state", "attempts", "proposals"),
            [
                (
                    row.id,
                    f"{row.title}, {row.key}",
                    row.state_words,
                    row.attempts,
                    len(row.result.get("proposals", [])),
                )
                for row in rows
            ],
        )

    def _proposals(self) -> None:
        self.heading("New weights, proposed and decided")
        for row in reversed(proposal_rows()):
            self.say(
                f"\n{row.batch_code}, {row.kits} x {row.kit_name}: {row.cause}. {row.state_words}."
            )
            self.say(
                f"IBU {row.ibu_target:.1f} wanted, {row.ibu_unchanged:.1f} if nothing changed, "
                f"{row.ibu_corrected:.1f} corrected (spread {row.ibu_spread:.1f})."
            )
            self.show(
                ("line", "hop", "lot before", "lot after", "before", "after"),
                [
                    (
                        line["key"],
                        line["item_name"],
                        line["old_lot"],
                        line["new_lot"],
                        _weight(line, "old"),
                        _weight(line, "new"),
                    )
                    for line in row.changed
                ],
            )

    def _packed(self, run: Run) -> None:
        run.refresh_from_db()
        self.heading(f"Run {run.code}: {run.get_state_display().lower()}")
        for batch in _standing(run):
            self.say(
                f"\nBatch {batch.code}: {batch.packed_kits} of {batch.kits} kits of "
                f"{batch.kit_name}, sheet {batch.sheet.number if batch.sheet else '-'}"
            )
            self.show(
                ("line", "item", "lot", "per kit", "reserved", "used"),
                [
                    (
                        row.key,
                        row.item_name,
                        row.lot_code,
                        *(
                            _read(quantity, row.measure)
                            for quantity in (row.per_kit, row.quantity, row.used)
                        ),
                    )
                    for row in batch.allocations
                ],
            )

    def _trials(self) -> None:
        self.heading("Trial batches")
        self.show(
            ("trial", "recipe", "figure", "predicted", "measured", "difference"),
            [
                (
                    trial.code,
                    trial.recipe_name,
                    row.name,
                    f"{row.predicted:.3f}",
                    f"{row.measured:.3f}",
                    f"{row.difference:+.3f}",
                )
                for trial in trial_rows()
                for row in trial_detail(trial_in_full(trial.id)).compared
                if row.measured is not None and row.difference is not None
            ],
        )

    def _works(self) -> None:
        self.heading("Work on lots")
        self.show(
            ("work", "what", "took", "made"),
            [
                (
                    row.code,
                    row.kind_name,
                    *(
                        ", ".join(f"{lot.code} {_read(lot.quantity, lot.measure)}" for lot in lots)
                        for lots in (row.inputs, row.outputs)
                    ),
                )
                for row in reversed(work_rows())
            ],
        )

    def _yeast(self, story: Story) -> None:
        self.heading("Yeast")
        self.show(
            ("lot", "strain", "packs", "living today", "kits it can serve, packs for each"),
            [
                (
                    row.code,
                    row.item_name,
                    row.on_hand,
                    percent(row.living, 0),
                    _first(_served(row), 2),
                )
                for row in yeast_rows(story.today)
            ],
        )

    def _papers(self, story: Story, run: Run, out: Path) -> None:
        plan = purchase_plan(story.today)
        self._purchases(plan)
        try:
            for name, content in self._files(plan, run).items():
                (out / name).write_bytes(content)
                self.say(f"Written: {out / name}")
        except OSError as problem:
            msg = f"{out} cannot be written to: {problem.strerror}. Name another with --out."
            raise CommandError(msg) from None

    def _purchases(self, plan: PurchasePlan) -> None:
        self.heading("To buy")
        self.show(
            ("supplier", "lines", "order by", "total"),
            [
                (
                    supplier.supplier_name,
                    len(supplier.lines),
                    supplier.order_by,
                    money(supplier.total, plan.currency),
                )
                for supplier in plan.suppliers
            ],
        )
        self.say(f"Total {money(plan.total, plan.currency)}")

    def _files(self, plan: PurchasePlan, run: Run) -> dict[str, bytes]:
        files = {"purchase-list.xlsx": purchase_list_xlsx(plan, made_at=timezone.localtime())}
        contents = [batch.sheet.content for batch in _standing(run) if batch.sheet]
        for content in contents:
            files[f"weigh-sheet-{content['batch']}.pdf"] = weigh_sheet_pdf(content)
            files[f"instructions-{content['batch']}.pdf"] = instruction_sheet_pdf(content)
        lines = [line for content in contents for line in content["lines"]]
        lots = [lot["code"] for line in lines for lot in line["lots"]]
        files[f"pick-list-{run.code}.pdf"] = pick_list_pdf(contents, places=places_of(lots))
        return files

    def _verify(self) -> None:
        self.heading("The ledger")
        call_command("verify_stock", stdout=self.stdout)

    def _serve(self, link: str, port: int) -> None:
        self.heading("The site")
        self.say("Sign in once with this link, within 15 minutes:")
        self.say(f"  http://127.0.0.1:{port}{link}")
        call_command("serve", port=port, stdout=self.stdout, stderr=self.stderr)


def _standing(run: Run) -> list[BatchRow]:
    return [batch for batch in batch_rows(run.pk) if batch.state != BatchState.CANCELLED]


def _read(quantity: int | None, measure: str) -> str:
    return "-" if quantity is None else read_naturally(quantity, Measure(measure))


def _weight(line: Mapping[str, Any], side: str) -> str:
    """Return what goes in the pouch, and for how long where it is the time that moves."""
    weight = _read(line[side], line["measure"])
    minutes = line.get(f"{side}_minutes")
    return weight if minutes is None else f"{weight}, {minutes} min"


def _served(lot: YeastLotRow) -> list[str]:
    return [
        f"{run.run_code} {run.kit_code} ({run.packs_to_target})"
        for run in lot.runs
        if run.verdict is not Verdict.REFUSED
    ]


def _first(words: list[str], most: int) -> str:
    more = len(words) - most
    shown_words = ", ".join(words[:most]) or "none"
    return f"{shown_words} and {more} more" if more > 0 else shown_words
