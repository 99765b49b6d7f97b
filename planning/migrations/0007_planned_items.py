"""The orders of a kept plan stand together by item and offer: thousands of rows become hundreds."""

from itertools import groupby

import django.db.models.deletion
from django.db import migrations, models

_FIELDS = ("order_by", "need_by", "past_due", "quantity", "cost", "pegs")


def together(apps, _editor):
    """Put the orders of each plan, item and offer into one row."""
    orders = apps.get_model("planning", "PlannedOrder").objects
    items = apps.get_model("planning", "PlannedItem").objects
    rows = orders.order_by("plan", "item", "offer", "need_by", "id").values_list(
        "plan_id", "item_id", "offer_id", *_FIELDS
    )
    for (plan_id, item_id, offer_id), group in groupby(rows.iterator(), key=lambda row: row[:3]):
        found = [
            [order_by.isoformat(), need_by.isoformat(), *others]
            for _, _, _, order_by, need_by, *others in group
        ]
        items.create(
            plan_id=plan_id,
            item_id=item_id,
            offer_id=offer_id,
            quantity=sum(order[3] for order in found),
            orders=found,
        )


def apart(apps, _editor):
    """Give each order a row of its own again."""
    orders = apps.get_model("planning", "PlannedOrder").objects
    items = apps.get_model("planning", "PlannedItem").objects
    for row in items.order_by("id").iterator():
        for order in row.orders:
            orders.create(
                plan_id=row.plan_id,
                item_id=row.item_id,
                offer_id=row.offer_id,
                **dict(zip(_FIELDS, order, strict=True)),
            )


class Migration(migrations.Migration):
    dependencies = [
        ("inventory", "0004_buying"),
        ("planning", "0006_forecast"),
    ]

    operations = [
        migrations.CreateModel(
            name="PlannedItem",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("quantity", models.PositiveBigIntegerField()),
                ("orders", models.JSONField(default=list)),
                (
                    "item",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="inventory.item",
                    ),
                ),
                (
                    "offer",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="inventory.supplieritem",
                    ),
                ),
                (
                    "plan",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="proposed",
                        to="planning.plan",
                    ),
                ),
            ],
            options={"ordering": ["plan", "id"]},
        ),
        migrations.AddConstraint(
            model_name="planneditem",
            constraint=models.CheckConstraint(
                condition=models.Q(("quantity__gt", 0)), name="planned_item_positive"
            ),
        ),
        migrations.AddConstraint(
            model_name="planneditem",
            constraint=models.UniqueConstraint(
                fields=("plan", "item", "offer"), name="planned_item_once"
            ),
        ),
        migrations.AddConstraint(
            model_name="planneditem",
            constraint=models.UniqueConstraint(
                condition=models.Q(("offer", None)),
                fields=("plan", "item"),
                name="planned_kit_once",
            ),
        ),
        migrations.RunPython(together, apart),
        migrations.DeleteModel(name="PlannedOrder"),
    ]
