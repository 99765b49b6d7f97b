"""The kits of a workbook, with their parts; kits of an offered revision are offered at once.

A kit that another one holds is written first, wherever its row stands.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import fields

from boxwort.sheets.forms import Row
from boxwort.sheets.saving import Saving
from inventory.services.importing import Catalogue
from recipes.models import Contents, Kit, Method, Part, RevisionState
from recipes.services.importing_forms import KIT_PARTS, KITS
from recipes.services.kits import PartFacts, offer_kit, write_kit
from recipes.services.pack_rules import PackRules


def save_kits(saving: Saving, books: Catalogue, methods: dict[tuple[str, str], Method]) -> None:
    """Write the kits. A method that the workbook does not write is taken from the books."""
    standing = set(Kit.objects.values_list("item__code", flat=True))
    parts_of: dict[str, list[Row]] = {}
    for part in saving.reading.rows[KIT_PARTS.name]:
        parts_of.setdefault(part["kit"], []).append(part)
    for row in _held_first(saving.reading.sound(KITS.name), parts_of):
        parts = parts_of.get(row["item"], [])
        named = {row["item"], *(part["item"] for part in parts)}
        method = methods.get((row["recipe"], row["method"])) or _newest_method(saving, row)
        if method is None or not named <= set(books.items) or not all(p.sound for p in parts):
            continue
        with saving.writing(row, *parts, new=row["item"] not in standing):
            _write(saving, row, parts, books, method)


def _held_first(rows: Sequence[Row], parts_of: Mapping[str, Sequence[Row]]) -> Iterator[Row]:
    """Yield the kits, those that others hold before them; a circle is left to the service."""
    waiting = {row["item"]: row for row in rows}

    def taken(code: str) -> Iterator[Row]:
        row = waiting.pop(code, None)
        if row is None:
            return
        for part in parts_of.get(code, ()):
            yield from taken(part["item"])
        yield row

    for row in rows:
        yield from taken(row["item"])


def _newest_method(saving: Saving, row: Row) -> Method | None:
    """Return the method in the books, unless the workbook's own recipe was refused."""
    if row["recipe"] in saving.reading.named("Recipes", "code"):
        return None
    found = Method.objects.filter(revision__recipe__code=row["recipe"], kind=row["method"])
    return found.select_related("revision").order_by("-revision__number").first()


def _write(
    saving: Saving, row: Row, parts: Sequence[Row], books: Catalogue, method: Method
) -> None:
    kit = write_kit(
        by=saving.by,
        item=books.items[row["item"]],
        method=method,
        volume=row["volume"],
        shelf_days=row["shelf_days"],
        yeast_part=Part(row["yeast_part"]),
        grain_part=Part(row["grain_part"]),
        contents=Contents(row["contents"]),
        rules=PackRules(**{field.name: row[field.name] for field in fields(PackRules)}),
        price=row["price"],
        target_share=row["target_share"],
        floor_share=row["floor_share"],
        parts=[
            PartFacts(
                item=books.items[part["item"]],
                quantity=part["amount"].quantity,
                part=Part(part["part"]),
            )
            for part in parts
        ],
    )
    if method.revision.state == RevisionState.OFFERED and not kit.offered:
        offer_kit(by=saving.by, kit=kit, expected=kit.version)
