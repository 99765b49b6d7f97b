"""The crops of a hop: the alpha acid to plan with from the day that each is sold."""

from __future__ import annotations

from datetime import date

from boxwort.accounts.models import User
from boxwort.accounts.services import service, write_history
from boxwort.errors import Refusal
from inventory.models import CropYear, Item, ItemKind
from inventory.services.entries import check_within
from inventory.services.rows import check_row

POSSIBLE_ALPHA = (0.001, 0.349)
POSSIBLE_YEARS = (2000, 2100)


@service
def write_crop(
    *, by: User, item: Item, year: int, from_on: date, planning_alpha: float
) -> CropYear:
    """Note a crop of a hop, or change what is said of that year's; the same again changes nothing.

    Deliveries from ``from_on`` on are planned with its ``planning_alpha`` (a share), until the next
    crop is sold.

    Raises
    ------
    Refusal: ``not-a-hop``, ``value-not-possible``, or ``crop-day-taken``.
    """
    if item.kind != ItemKind.HOP:
        raise Refusal("not-a-hop", f"{item} is not a hop.", "Only hops are planned by their crop.")
    check_within(planning_alpha, POSSIBLE_ALPHA, f"planning alpha of {item.code}")
    check_within(year, POSSIBLE_YEARS, "year of the crop")
    if CropYear.objects.filter(item=item, from_on=from_on).exclude(year=year).exists():
        raise Refusal(
            "crop-day-taken",
            f"Another crop of {item} is sold from that day.",
            "Give each crop a day of its own.",
        )
    crop = CropYear.objects.filter(item=item, year=year).first() or CropYear(item=item, year=year)
    before = {} if crop._state.adding else {"from_on": crop.from_on, "alpha": crop.planning_alpha}
    after = {"from_on": from_on, "alpha": planning_alpha}
    if before == after:
        return crop
    crop.from_on, crop.planning_alpha = from_on, planning_alpha
    check_row(crop)
    crop.save()
    write_history(by=by, thing=item, action=f"crop-{year}", before=before, after=after)
    return crop


@service
def remove_crop(*, by: User, crop: CropYear) -> None:
    """Take a crop away; what was delivered of it stays as it is."""
    before = {"from_on": crop.from_on, "alpha": crop.planning_alpha}
    write_history(by=by, thing=crop.item, action=f"crop-{crop.year}-removed", before=before)
    crop.delete()
