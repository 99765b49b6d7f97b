"""Contents of invented sheets, as they are stored when a sheet is issued, and paper read again."""

from __future__ import annotations

from io import BytesIO
from typing import Any

from pypdf import PdfReader


def line(key: str, name: str, kind: str, use: str, per_kit: int, **more: Any) -> dict[str, Any]:
    """Return one line of a sheet, packed from one lot for 24 kits unless told otherwise."""
    code = name.upper().replace(" ", "-")[:12]
    lot = {"code": f"{code}-01", "quantity": per_kit * 24, "best_before_on": "2027-08-31"}
    return {
        "key": key,
        "item_code": code,
        "item_name": name,
        "kind": kind,
        "measure": "mass",
        "use": use,
        "minutes": 0,
        "part": "packed",
        "per_kit": per_kit,
        "total": per_kit * 24,
        "role": "",
        "alpha": None,
        "lots": [lot],
        "reason": "",
        "at_dispatch": False,
        **more,
    }


def content(**more: Any) -> dict[str, Any]:
    """Return the content of an extract kit's sheet."""
    return {
        "batch": "RUN-2026-49-01",
        "run": "RUN-2026-49",
        "kit": {"code": "KIT-HEDGE-23", "name": "Hedgerow Bitter, 23 litres"},
        "recipe": {"name": "Hedgerow Bitter", "style": "Best Bitter", "revision": 3},
        "method": "extract",
        "method_name": "Extract with steeped grain",
        "kits": 24,
        "pack_on": "2026-12-02",
        "brew_on": "2027-03-02",
        "sheet": 2,
        "volume_ul": 23_000_000,
        "pre_boil_volume_ul": 14_000_000,
        "post_boil_volume_ul": 12_000_000,
        "boil_minutes": 60,
        "mash_temperature_c": None,
        "ferment_temperature_c": 19.0,
        "steps": "Needs three weeks in the bottle to come round.",
        "steps_volume_ul": 23_000_000,
        "producer": "Fernhollow Kit Works",
        "lines": [
            line("grain-1", "Crystal malt 60", "grain", "steep", 340_000, minutes=20),
            line("grain-2", "Roasted barley", "grain", "steep", 45_000, minutes=20),
            line("extract-1", "Dry pale extract", "extract", "boil", 2_500_000, minutes=60),
            line("sugar-1", "Golden syrup", "sugar", "flame_out", 250_000),
            line("hop-1", "Larkmoor pellets", "hop", "boil", 31_500, minutes=60, alpha=0.0612,
                 lots=[{"code": "LARK-24A", "quantity": 500_000, "best_before_on": "2027-10-01"},
                       {"code": "LARK-24B", "quantity": 256_000, "best_before_on": None}]),
            line("hop-2", "Wending pellets", "hop", "boil", 15_000, minutes=15, alpha=0.043),
            line("hop-3", "Wending pellets", "hop", "dry_hop", 20_000, alpha=0.043),
            line("fining-1", "Carrageen tablet", "fining", "boil", 1, minutes=15, measure="count"),
            line("box-1", "Kit box, large", "packaging", "", 1, measure="count"),
            line("label-1", "Box label", "printed", "", 2, measure="count"),
            line("yeast-1", "Valley Ale yeast, dry", "yeast", "fermenter", 1, measure="count",
                 part="dispatch", at_dispatch=True, lots=[]),
        ],
        "figures": {"og": 1.0432, "fg": 1.0108, "abv": 4.28, "srm": 10.7, "ibu": 29.6,
                    "ibu_target": 29.8, "ibu_spread": 0.9},
        "allergens": ["barley"],
        "yeast": {"code": "YST-VALLEY", "name": "Valley Ale yeast, dry", "packs": 1},
        "tolerance_mg": 250,
        "division_mg": 100,
        **more,
    }  # fmt: skip


def all_grain_content() -> dict[str, Any]:
    """Return the content of an all-grain kit's sheet of the same run."""
    return content(
        batch="RUN-2026-49-02",
        kit={"code": "KIT-OAT-20-AG", "name": "Millrace Oat Stout, 20 litres"},
        method="all_grain",
        method_name="All-grain",
        kits=12,
        sheet=1,
        volume_ul=20_000_000,
        pre_boil_volume_ul=26_000_000,
        mash_temperature_c=67.0,
        steps="",
        lines=[
            line("grain-1", "Pale malt", "grain", "mash", 4_200_000, minutes=60),
            line("grain-2", "Flaked oats", "grain", "mash", 600_000, minutes=60),
            line("grain-3", "Roasted barley", "grain", "mash", 320_000, minutes=60),
            line("hop-1", "Larkmoor pellets", "hop", "boil", 38_000, minutes=60, alpha=0.0612),
            line("box-1", "Kit box, large", "packaging", "", 1, measure="count"),
            line("yeast-1", "Valley Ale yeast, dry", "yeast", "fermenter", 1, measure="count"),
        ],
        allergens=["barley", "oats"],
    )


def text(pdf: bytes) -> str:
    """Return a paper's words with single spaces, however its lines were broken."""
    pages = [page.extract_text() for page in PdfReader(BytesIO(pdf)).pages]
    return " ".join(" ".join(pages).split())
