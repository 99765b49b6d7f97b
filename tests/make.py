"""Thin makers: each calls the service a person's act would call, with what the test leaves open."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date, timedelta
from itertools import count
from typing import Any

import pytest
from django.db import transaction

from boxwort.accounts.models import User
from boxwort.errors import Refusal
from boxwort.quantities import Measure
from boxwort.roles import Role
from inventory.models import (
    Conversion,
    ConversionKind,
    Item,
    ItemKind,
    Lot,
    LotStatus,
    Place,
    Reservation,
)
from inventory.models.items import FERMENTABLE_KINDS
from inventory.services.catalogue import HopFacts, MaltFacts, YeastFacts, write_item, write_place
from inventory.services.conversions import Output, Used, Want, open_conversion, reserve_lots
from inventory.services.lots import receive_lot
from tests.remembering import lasting_pk

TODAY = date(2026, 3, 2)
RECEIVED_ON = date(2026, 1, 5)
BEST_BEFORE_ON = date(2026, 12, 31)
_numbers = count(1)

MALT = MaltFacts(points_l_per_kg=300.0, colour_lovibond=2.0, power_lintner=120.0)
HOP = HopFacts(planning_alpha=0.08, lost_in_six_months=0.30)
LIQUID = YeastFacts(form="liquid", attenuation=0.75, cells_per_pack=100e9)
DRY = YeastFacts(form="dry", attenuation=0.75, pack_grams=11.5, dose_g_per_hl=60)
_SPECIFIED: dict[str, dict[str, Any]] = {
    **{kind: {"malt": MALT} for kind in FERMENTABLE_KINDS},
    ItemKind.HOP: {"hop": HOP},
    ItemKind.YEAST: {"yeast": LIQUID},
}
_COUNTED = {ItemKind.YEAST, ItemKind.KIT, ItemKind.PACKAGING, ItemKind.PRINTED}


@contextmanager
def refused(code: str) -> Iterator[pytest.ExceptionInfo[Refusal]]:
    """Expect a refusal and roll back what led to it, so that the test can look again."""
    with pytest.raises(Refusal) as caught, transaction.atomic():
        yield caught
    assert caught.value.code == code, caught.value


def key() -> str:
    """Return a request key that no other call has."""
    return f"test-{next(_numbers)}"


def user(role: Role = Role.OWNER, username: str = "") -> User:
    """Return a person of a role, the same one for the same name."""
    name = username or role.value
    return person(name, role.value)


def person(name: str, role: str) -> User:
    """Return somebody of a name, with the role if they are new."""
    facts = {"pk": lasting_pk(name), "role": role}
    return User.objects.get_or_create(username=name, defaults=facts)[0]


def item(code: str = "PALE", kind: ItemKind = ItemKind.GRAIN, **facts: Any) -> Item:
    """Return an item of a kind, with a specification of its kind unless one is given."""
    measure = Measure.COUNT if kind in _COUNTED else Measure.MASS
    wanted = {"name": code.title(), "measure": measure, **_SPECIFIED.get(kind, {}), **facts}
    return write_item(by=user(), code=code, kind=kind, **wanted)


def place(code: str = "STORE", temperature_c: float | None = 5.0, **facts: Any) -> Place:
    """Return a storage place, five degrees warm unless the test says otherwise."""
    wanted = {"name": code.title(), "from_on": date(2025, 1, 1), **facts}
    return write_place(by=user(), code=code, temperature_c=temperature_c, **wanted)


def lot(code: str = "", quantity: int = 1000, **facts: Any) -> Lot:
    """Return a released lot of pale malt, received on RECEIVED_ON into STORE."""
    wanted: dict[str, Any] = {
        "received_on": RECEIVED_ON,
        "best_before_on": BEST_BEFORE_ON,
        "status": LotStatus.RELEASED,
        "key": key(),
        **facts,
    }
    wanted.setdefault("item", None)
    wanted["item"] = wanted["item"] or item()
    wanted["place"] = wanted.get("place") or place()
    code = code or f"LOT-{next(_numbers)}"
    return receive_lot(by=user(), code=code, quantity=quantity, **wanted)


def conversion(code: str = "", kind: ConversionKind = ConversionKind.PACK) -> Conversion:
    """Return open work."""
    return open_conversion(by=user(), code=code or f"WORK-{next(_numbers)}", kind=kind)


def want(of: Lot, quantity: int, line: str = "1", in_days: int = 7) -> Want:
    """Return a want of a lot, needed in so many days from TODAY."""
    needed_on = TODAY + timedelta(days=in_days)
    return Want(line=line, lot_id=of.pk, quantity=quantity, needed_on=needed_on)


def reservation(work: Conversion, of: Lot, quantity: int, **facts: Any) -> Reservation:
    """Return an open reservation of a lot for some work."""
    wants = [want(of, quantity, **facts)]
    return reserve_lots(by=user(), conversion=work, wants=wants, on=TODAY)[0]


def used(of: Lot, quantity: int, line: str = "1") -> Used:
    """Return what a line really took of a lot."""
    return Used(line=line, lot_id=of.pk, quantity=quantity)


def output(code: str = "", quantity: int = 10, **facts: Any) -> Output:
    """Return ten boxed kits put in STORE."""
    wanted = {"item": facts.pop("item", None) or item("KIT-PALE", ItemKind.KIT), **facts}
    wanted.setdefault("place", place())
    return Output(code=code or f"KITS-{next(_numbers)}", quantity=quantity, **wanted)
