"""Work on lots from the terminal: repack, mill, decant, blend, break down, take back."""

from __future__ import annotations

import uuid
from argparse import ArgumentParser
from collections.abc import Sequence
from typing import Any

from django.core.exceptions import ValidationError
from django.core.management.base import CommandError
from django.utils import timezone

from boxwort.accounts.models import User
from boxwort.quantities import Measure, natural_unit, read_naturally
from boxwort.roles import Right
from boxwort.terminal import TradeCommand, day
from boxwort.web.amounts import AmountField
from inventory.models import Balance, Conversion, Lot, Packing, Place, PlaceKind
from inventory.queries.conversions import WorkRow, work_row
from inventory.queries.lot_codes import free_lot_code, free_lot_codes
from inventory.services.blending import blend_lots
from inventory.services.breaking_down import Returned, break_down, packed_contents
from inventory.services.repacking import Left, decant_lot, mill_lot, repack_lot
from inventory.services.works import Made, Taken, undo_work


class Command(TradeCommand):
    """``manage.py work mill PALE-1 --take "25 kg" --made "24.6 kg" --reason dust``."""

    right = Right.WORK_ON_LOT
    help = (
        "Work on lots: repack, mill, decant, blend, break-down, or undo such work. Amounts are "
        "written with their unit. What is neither made nor left is lost, and a loss above what the "
        "item usually loses needs a reason. Prints what was posted."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Take the kind of work, and what each asks."""
        kinds = parser.add_subparsers(dest="kind", required=True, metavar="KIND")
        for kind, says in (
            ("repack", "put some of a lot into other bags"),
            ("mill", "crush some of a lot of grain"),
            ("decant", "fill some of a drum into smaller containers"),
        ):
            of_one = kinds.add_parser(kind, help=says, description=f"{says.capitalize()}.")
            of_one.add_argument("lot", help="the code of the lot")
            of_one.add_argument("--take", required=True, metavar="AMOUNT", help='as "25 kg"')
            of_one.add_argument("--left", metavar="AMOUNT", help="left of an opened container")
            of_one.add_argument(
                "--left-code", default="", metavar="CODE", help="make what is left this lot"
            )
            _add_made(of_one, packing=kind == "repack")
        blend = kinds.add_parser("blend", help="make one lot of several of an item")
        blend.add_argument("lots", nargs="+", metavar="LOT=AMOUNT", help='as "PALE-1=10 kg"')
        _add_made(blend, packing=True)
        broken = kinds.add_parser("break-down", help="take kits apart into what was packed")
        broken.add_argument("lot", help="the code of the lot of kits")
        broken.add_argument("--kits", type=int, required=True, metavar="NUMBER", help="how many")
        broken.add_argument(
            "--good",
            action="append",
            default=[],
            metavar="LOT=AMOUNT",
            help="what is good of a lot that was packed, where that is not all of it",
        )
        _add_common(broken)
        undo = kinds.add_parser("undo", help="take such work back")
        undo.add_argument("work", help="the code of the work")
        undo.add_argument("--reason", required=True, help="why")
        for of_kind in kinds.choices.values():
            super().add_arguments(of_kind)

    def handle(self, *_: Any, **options: Any) -> None:
        """Do the work and print what was posted."""
        by = self.actor(options)
        kind = options["kind"]
        key = f"work {uuid.uuid4()}"
        if kind == "undo":
            self.check_right(by, Right.CORRECT_STOCK)
            work = self._undone(by, key, options)
        elif kind == "blend":
            work = self._blended(by, key, options)
        elif kind == "break-down":
            work = self._broken_down(by, key, options)
        else:
            work = self._worked(by, key, options)
        self._tell(work)

    def _worked(self, by: User, key: str, options: dict[str, Any]) -> Conversion:
        lot = _lot(options["lot"])
        act = {"repack": repack_lot, "mill": mill_lot, "decant": decant_lot}[options["kind"]]
        left = options["left"]
        more = {"packing": options["packing"]} if options["kind"] == "repack" else {}
        return act(
            by=by,
            key=key,
            taken=_taken(lot, _read(options["take"], lot), options["from"]),
            made=_made(lot, options),
            left=Left(quantity=_read(left, lot) if left else 0, code=options["left_code"].upper()),
            on=options["on"],
            reason=options["reason"],
            **more,
        )

    def _blended(self, by: User, key: str, options: dict[str, Any]) -> Conversion:
        parts = [_part(written) for written in options["lots"]]
        return blend_lots(
            by=by,
            key=key,
            taken=[_taken(lot, quantity, options["from"]) for lot, quantity in parts],
            made=_made(parts[0][0], options),
            packing=options["packing"],
            on=options["on"],
            reason=options["reason"],
        )

    def _broken_down(self, by: User, key: str, options: dict[str, Any]) -> Conversion:
        kits, number = _lot(options["lot"]), options["kits"]
        contents = packed_contents(kits, number) if number > 0 else []
        good = {lot.pk: quantity for lot, quantity in map(_part, options["good"])}
        codes = free_lot_codes([row.item_code for row in contents], timezone.localdate())
        places = Place.objects.in_bulk([row.place_id for row in contents])
        named = [
            Returned(
                lot_id=row.lot_id,
                quantity=good.pop(row.lot_id, row.quantity),
                code=code,
                place=_place(options["to"]) if options["to"] else places[row.place_id],
            )
            for row, code in zip(contents, codes, strict=True)
        ]
        if good:
            known = ", ".join(row.code for row in contents)
            msg = f"--good names a lot that these kits do not hold; they hold {known}."
            raise CommandError(msg)
        return break_down(
            by=by,
            key=key,
            taken=_taken(kits, number, options["from"]),
            returned=named,
            on=options["on"],
            reason=options["reason"],
        )

    def _undone(self, by: User, key: str, options: dict[str, Any]) -> Conversion:
        work = Conversion.objects.filter(code=options["work"].upper()).first()
        if work is None:
            msg = f"No work has the code {options['work']}. The page of conversions lists them."
            raise CommandError(msg)
        undo_work(by=by, conversion=work, key=key, reason=options["reason"])
        return work

    def _tell(self, work: Conversion) -> None:
        row = work_row(work.pk)
        if row is None:  # it was done just now
            raise AssertionError
        self.say(f"{row.kind_name} {row.code}: {row.state_name.lower()}, posting {row.posting_id}.")
        self.show(("", "lot", "item", "amount", "place"), _lots_of(row))
        self.show(
            ("item", "went in", "made", "left", "lost", "usually lost"),
            [
                (
                    balance.item_name,
                    *(
                        _written(quantity, balance.measure)
                        for quantity in (
                            balance.used,
                            balance.made,
                            balance.left,
                            balance.lost,
                            balance.expected,
                        )
                    ),
                )
                for balance in row.balances
            ],
        )


def _add_common(parser: ArgumentParser) -> None:
    parser.add_argument("--from", metavar="PLACE", help="where it lies (where most of it lies)")
    parser.add_argument("--to", metavar="PLACE", help="where what is made goes (where it lay)")
    parser.add_argument(
        "--on", type=day, default=timezone.localdate(), help="as 2026-11-25 (today)"
    )
    parser.add_argument("--reason", default="", help="where the rest went")


def _add_made(parser: ArgumentParser, *, packing: bool) -> None:
    parser.add_argument("--made", required=True, metavar="AMOUNT", help="what came out")
    parser.add_argument("--code", default="", help="of the new lot (its item and the day)")
    if packing:
        parser.add_argument("--packing", default="", choices=Packing.values, help="of hops")
    _add_common(parser)


def _lot(code: str) -> Lot:
    lot = Lot.objects.select_related("item").filter(code=code.upper()).first()
    if lot is None:
        msg = f"No lot has the code {code}. The page of lots lists them."
        raise CommandError(msg)
    return lot


def _part(written: str) -> tuple[Lot, int]:
    code, _, amount = written.partition("=")
    lot = _lot(code)
    return lot, _read(amount, lot)


def _read(written: str, lot: Lot) -> int:
    """Read an amount, which names its unit unless it is pieces."""
    measure = Measure(lot.item.measure)
    text = written.strip()
    if measure is not Measure.COUNT and text[-1:].isdigit():
        unit = natural_unit(0, measure, "metric")
        msg = f"{written!r} names no unit; write it as {text} {unit}"
        raise CommandError(msg)
    try:
        quantity = AmountField(measure=measure, unit=natural_unit(0, measure, "metric")).clean(text)
    except ValidationError as wrong:
        raise CommandError(f"{written!r}: {' '.join(wrong.messages)}") from None  # noqa: EM102
    return int(quantity)


def _taken(lot: Lot, quantity: int, place: str | None) -> Taken:
    if place:
        return Taken(lot_id=lot.pk, quantity=quantity, place=_place(place))
    held = Balance.objects.filter(lot=lot, holds_stock=True).select_related("place")
    most = held.order_by("-quantity", "place").first()
    if most is None:
        msg = f"Lot {lot.code} lies nowhere."
        raise CommandError(msg)
    return Taken(lot_id=lot.pk, quantity=quantity, place=most.place)


def _made(lot: Lot, options: dict[str, Any]) -> Made:
    code = options["code"].upper() or free_lot_code(lot.item.code, timezone.localdate())
    place = options["to"] or options["from"]
    return Made(
        code=code,
        quantity=_read(options["made"], lot),
        place=_place(place) if place else _taken(lot, 0, None).place,
    )


def _place(code: str) -> Place:
    place = Place.objects.filter(code=code.upper(), kind=PlaceKind.STORAGE).first()
    if place is None:
        known = Place.objects.filter(kind=PlaceKind.STORAGE).values_list("code", flat=True)
        msg = f"No storage place has the code {code}. There are: {', '.join(known)}."
        raise CommandError(msg)
    return place


def _lots_of(row: WorkRow) -> Sequence[Sequence[str]]:
    return [
        (side, lot.code, lot.item_name, _written(lot.quantity, lot.measure), lot.place_name)
        for side, lots in (("took", row.inputs), ("made", row.outputs))
        for lot in lots
    ]


def _written(quantity: int, measure: str) -> str:
    return read_naturally(quantity, Measure(measure))
