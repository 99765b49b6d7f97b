"""A new kit with the item it is sold as."""

from __future__ import annotations

from typing import Any

from boxwort.accounts.models import User
from boxwort.accounts.services import service
from boxwort.errors import Refusal
from boxwort.quantities import Measure
from inventory.models import Item, ItemKind
from inventory.services.catalogue import write_item
from recipes.models import Kit, Method
from recipes.services.kits import write_kit


@service
def begin_kit(*, by: User, code: str, name: str, method: Method, **facts: Any) -> Kit:
    """Write a kit of a method that there is not yet, and the item it is sold as.

    An item of the kind kit that no kit is sold as yet may stand already. ``facts`` are those of
    :func:`recipes.services.kits.write_kit`.

    Raises
    ------
    Refusal: ``kit-code-taken``, ``code-not-valid``, or what :func:`write_kit` refuses.
    """
    item = Item.objects.filter(code=code).first()
    if item and (item.kind != ItemKind.KIT or Kit.objects.filter(item=item).exists()):
        raise Refusal(
            "kit-code-taken",
            f"{item} has the code {code} already.",
            "Give the kit a code of its own.",
        )
    if item is None:
        measure, kind = Measure.COUNT, ItemKind.KIT
        item = write_item(by=by, code=code, name=name, kind=kind, measure=measure)
    return write_kit(by=by, item=item, method=method, **facts)
