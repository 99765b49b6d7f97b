"""The forms of the sheets that the stock room reads: their columns, units and words."""

from __future__ import annotations

from typing import Any

from django.db.models import Model

from boxwort.accounts.models import PACKING_CHOICES
from boxwort.laboratory import LITRE_DEGREES_PER_PPG
from boxwort.quantities import Measure
from boxwort.sheets import cells
from boxwort.sheets.forms import AmountColumns, Column, SheetForm, column, optional
from boxwort.weekdays import EVERY_DAY
from inventory.ageing.yeast import ViabilityRule
from inventory.models import Analysis, AnalysisKind, ItemKind, LotRule, LotStatus, YeastForm
from inventory.models.analyses import METHOD_CHOICES
from inventory.models.items import ALLERGENS, HopForm, HopSpec, MaltFamily
from inventory.services.certificates import UNIT_NAMES
from inventory.services.order_rules import LONGEST_PERIOD, LONGEST_QUARANTINE

_PER_CENT = 0.01
_BILLION = 1e9
_POSSIBLE_C = {"least": -40, "most": 45}


OPENING_STATUSES = [
    (status.value, status.label) for status in LotStatus if status is not LotStatus.REJECTED
]


def _words_of(table: type[Model], name: str) -> dict[str, str]:
    """Return the stored and the written words of a field with choices."""
    field: Any = table._meta.get_field(name)
    return dict(field.choices)


def _extract(name: str, what: str, *, required: bool) -> Column:
    readers = {
        f"{what} (ppg)": cells.measured(least=0, most=48, factor=LITRE_DEGREES_PER_PPG),
        f"{what} (L°/kg)": cells.measured(least=0, most=400),
    }
    return Column(name=name, readers=readers, required=required, default=0.0)


ITEMS = SheetForm(
    name="Items",
    unique=("code",),
    columns=(
        column("code", "Code", cells.code),
        column("name", "Name", cells.text(120)),
        column("kind", "Kind", cells.choice(dict(ItemKind.choices))),
        optional("family", "Family", cells.choice(dict(MaltFamily.choices)), ""),
        column("measure", "Measured by", cells.choice({m.value: m.value for m in Measure})),
        optional("overage", "Overage (%)", cells.percent, 0.0),
        AmountColumns(
            name="safety_stock",
            title="Safety stock",
            unit_title="Safety stock unit",
            required=False,
        ),
        AmountColumns(
            name="container",
            title="Container amount",
            unit_title="Container unit",
            required=False,
        ),
        optional("shelf_days", "Shelf life (days)", cells.whole(most=3650)),
        optional("crushed_days", "Crushed life (days)", cells.whole(least=1, most=3650)),
        optional("opened_days", "Opened life (days)", cells.whole(least=1, most=3650)),
        optional("work_loss", "Work loss (%)", cells.percent, 0.0),
        optional("lot_rule", "Lot rule", cells.choice(dict(LotRule.choices)), LotRule.PERIOD.value),
        AmountColumns(
            name="fixed",
            title="Fixed quantity",
            unit_title="Fixed quantity unit",
            required=False,
        ),
        optional("period_days", "Period (days)", cells.whole(least=1, most=LONGEST_PERIOD)),
        optional("order_cost", "Order cost", cells.money, 0),
        optional("quarantine_days", "Quarantine (days)", cells.whole(most=LONGEST_QUARANTINE), 0),
        optional("allergens", "Allergens", cells.words(ALLERGENS), ()),
        optional("notes", "Notes", cells.text(200), ""),
    ),
)
MALTS = SheetForm(
    name="Malts",
    unique=("item",),
    columns=(
        column("item", "Item", cells.code),
        _extract("points", "Extract", required=True),
        _extract("steep_points", "Steep yield", required=False),
        optional("colour", "Colour (°L)", cells.measured(least=0, most=1000), 0.0),
        optional("power", "Enzyme power (°Lintner)", cells.measured(least=0, most=400), 0.0),
        optional(
            "fermentability",
            "Fermentability (%)",
            cells.measured(least=0, most=150, factor=_PER_CENT),
            1.0,
        ),
        optional("must_mash", "Must be mashed", cells.yes_no, default=False),
    ),
)
HOPS = SheetForm(
    name="Hops",
    unique=("item",),
    columns=(
        column("item", "Item", cells.code),
        optional("form", "Form", cells.choice(_words_of(HopSpec, "form"))),
        column("planning_alpha", "Planning alpha (%)", cells.percent),
        column("lost_in_six_months", "Lost in six months (%)", cells.percent),
        optional("packing", "Packing", cells.choice(dict(PACKING_CHOICES))),
    ),
)
YEASTS = SheetForm(
    name="Yeasts",
    unique=("item",),
    columns=(
        column("item", "Item", cells.code),
        column("form", "Form", cells.choice(dict(YeastForm.choices))),
        column("attenuation", "Attenuation (%)", cells.percent),
        optional(
            "cells", "Cells per pack (billion)", cells.measured(least=0, factor=_BILLION), 0.0
        ),
        optional("grams", "Pack (g)", cells.measured(least=0), 0.0),
        optional("pitch", "Pitch rate (million/mL/°P)", cells.measured(least=0, most=10), 0.75),
        optional("dose", "Dose (g/hL)", cells.measured(least=0, most=1000), 0.0),
        optional(
            "rule",
            "Viability rule",
            cells.choice({rule.value: rule.value for rule in ViabilityRule}),
            ViabilityRule.LINEAR.value,
        ),
        optional("target", "Target (% of pitch)", cells.measured(least=1, factor=_PER_CENT), 1.0),
        optional("floor", "Floor (% of pitch)", cells.measured(least=1, factor=_PER_CENT), 0.5),
        optional("group", "Strain group", cells.text(40), ""),
    ),
)
SUPPLIERS = SheetForm(
    name="Suppliers",
    unique=("code",),
    columns=(
        column("code", "Code", cells.code),
        column("name", "Name", cells.text(120)),
        optional("email", "Email", cells.text(120), ""),
        optional("lead_days", "Lead time (days)", cells.whole(most=730), 7),
        optional("order_weekdays", "Order days", cells.weekdays, EVERY_DAY),
        optional("counts_working_days", "Lead in working days", cells.yes_no, default=False),
    ),
)
OFFERS = SheetForm(
    name="Offers",
    columns=(
        column("supplier", "Supplier", cells.code),
        column("item", "Item", cells.code),
        optional("supplier_code", "Supplier's code", cells.text(40), ""),
        AmountColumns(name="pack", title="Pack", unit_title="Pack unit"),
        optional("minimum_packs", "Minimum packs", cells.whole(least=1), 1),
        optional("lead_days", "Lead time (days)", cells.whole(most=730)),
        optional("preferred", "Preferred", cells.yes_no, default=False),
        column("price", "Price per pack", cells.money),
    ),
)
PRICE_BREAKS = SheetForm(
    name="Price breaks",
    columns=(
        column("supplier", "Supplier", cells.code),
        column("item", "Item", cells.code),
        AmountColumns(name="pack", title="Pack", unit_title="Pack unit"),
        column("from_packs", "From packs", cells.whole(least=2)),
        column("price", "Price per pack", cells.money),
    ),
)
CONTRACTS = SheetForm(
    name="Contracts",
    unique=("code",),
    columns=(
        column("code", "Code", cells.code),
        column("supplier", "Supplier", cells.code),
        column("item", "Item", cells.code),
        AmountColumns(name="pack", title="Pack", unit_title="Pack unit"),
        AmountColumns(name="amount"),
        optional("crop_year", "Crop year", cells.whole(least=2000, most=2100)),
        optional("price", "Price per pack", cells.money),
        column("from_on", "From", cells.day),
        column("until_on", "Until", cells.day),
    ),
)
CROPS = SheetForm(
    name="Crops",
    unique=("item", "year"),
    columns=(
        column("item", "Item", cells.code),
        column("year", "Year", cells.whole(least=2000, most=2100)),
        column("from_on", "Sold from", cells.day),
        column("planning_alpha", "Planning alpha (%)", cells.percent),
    ),
)
PLACES = SheetForm(
    name="Places",
    unique=("code", "from_on"),
    columns=(
        column("code", "Code", cells.code),
        column("name", "Name", cells.text(80)),
        column("temperature_c", "Temperature (°C)", cells.measured(**_POSSIBLE_C)),
        optional("from_on", "From", cells.day),
    ),
)
LOTS = SheetForm(
    name="Lots",
    unique=("code",),
    columns=(
        column("code", "Code", cells.code),
        column("item", "Item", cells.code),
        AmountColumns(name="amount"),
        column("place", "Place", cells.code),
        column("received_on", "Received", cells.day),
        optional("packaged_on", "Packaged", cells.day),
        optional("best_before_on", "Best before", cells.day),
        optional(
            "status", "Status", cells.choice(dict(OPENING_STATUSES)), LotStatus.QUARANTINE.value
        ),
        optional("status_reason", "Status reason", cells.text(200), ""),
        optional("packing", "Packing", cells.choice(dict(PACKING_CHOICES)), ""),
        optional("form", "Form", cells.choice(dict(HopForm.choices)), ""),
        optional("supplier", "Supplier", cells.code),
        optional("supplier_lot", "Supplier's lot", cells.text(40), ""),
        optional("cost_amount", "Cost", cells.money, 0),
    ),
)
ANALYSES = SheetForm(
    name="Analyses",
    unique=("lot", "kind", "sampled_on", "method", "basis"),
    columns=(
        column("lot", "Lot", cells.code),
        column("kind", "Measured", cells.choice(dict(AnalysisKind.choices))),
        column("value", "Value", cells.as_shown),
        column("unit", "Unit", cells.choice({word: word for word in UNIT_NAMES})),
        column("sampled_on", "Sampled", cells.day),
        optional("method", "Method", cells.choice(dict(METHOD_CHOICES)), "certificate"),
        optional("basis", "Basis", cells.choice(_words_of(Analysis, "basis")), "as_is"),
        optional("spread", "Spread (%)", cells.percent),
        optional("at_harvest", "At harvest", cells.yes_no, default=False),
    ),
)
FORMS = (
    ITEMS,
    MALTS,
    HOPS,
    YEASTS,
    SUPPLIERS,
    OFFERS,
    PRICE_BREAKS,
    CONTRACTS,
    CROPS,
    PLACES,
    LOTS,
    ANALYSES,
)
