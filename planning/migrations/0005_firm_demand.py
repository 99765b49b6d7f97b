"""Demand that was ordered becomes customer orders, one for each reference and day."""

from django.db import migrations
from django.db.models import Sum

CUSTOMER = "Unnamed customer"


def make_orders(apps, schema_editor):
    """Write an order for each reference and day; two references of one day stay two orders."""
    demand = apps.get_model("planning", "Demand").objects
    taken = set(apps.get_model("planning", "CustomerOrder").objects.values_list("code", flat=True))
    rows = demand.filter(source="order").order_by("wanted_on", "reference", "kit_id")
    for reference, day in (
        rows.values_list("reference", "wanted_on").distinct().order_by("wanted_on", "reference")
    ):
        code = free_code(reference, day, taken)
        taken.add(code)
        order = apps.get_model("planning", "CustomerOrder").objects.create(
            code=code, customer=CUSTOMER, promised_on=day, note=reference
        )
        lines = rows.filter(reference=reference, wanted_on=day)
        for position, line in enumerate(lines, start=1):
            apps.get_model("planning", "OrderLine").objects.create(
                order=order, position=position, kit_id=line.kit_id, quantity=line.kits
            )
    rows.delete()


def add_up(apps, schema_editor):
    """Keep one forecast for each kit and week, whatever references it was told by."""
    demand = apps.get_model("planning", "Demand").objects
    totals = demand.values("kit_id", "wanted_on").annotate(total=Sum("kits")).order_by()
    for total in totals:
        first, *others = demand.filter(
            kit_id=total["kit_id"], wanted_on=total["wanted_on"]
        ).order_by("id")
        demand.filter(pk=first.pk).update(kits=total["total"], reference="")
        demand.filter(pk__in=[other.pk for other in others]).delete()


def free_code(reference, day, taken):
    """Return the reference as a code, or the day, with a number where that is taken."""
    letters = "".join(sign if sign.isascii() and sign.isalnum() else "-" for sign in reference)
    stem = letters.upper().strip("-")[:16] or f"C{day:%y%m%d}"
    codes = [stem, *(f"{stem}-{number}" for number in range(1, 1000))]
    return next(code for code in codes if code not in taken)


class Migration(migrations.Migration):
    dependencies = [
        ("planning", "0004_dispatch_content"),
    ]

    operations = [
        migrations.RunPython(make_orders, migrations.RunPython.noop),
        migrations.RunPython(add_up, migrations.RunPython.noop),
    ]
