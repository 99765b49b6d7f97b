import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("recipes", "0004_trial_content"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name="TypedMethod",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "kind",
                    models.CharField(
                        choices=[
                            ("extract", "Extract with steeped grain"),
                            ("partial_mash", "Partial mash"),
                            ("all_grain", "All-grain"),
                        ],
                        max_length=12,
                    ),
                ),
                ("typed_at", models.DateTimeField()),
                ("started_from", models.PositiveIntegerField()),
                ("texts", models.JSONField(default=dict)),
                ("settled", models.CharField(blank=True, default="", max_length=80)),
                (
                    "revision",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="typed",
                        to="recipes.revision",
                    ),
                ),
                (
                    "typed_by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE, to=settings.AUTH_USER_MODEL
                    ),
                ),
            ],
            options={
                "ordering": ["revision", "kind", "typed_by"],
                "constraints": [
                    models.UniqueConstraint(
                        fields=("revision", "kind", "typed_by"), name="typed_once_per_person"
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("kind__in", ["extract", "partial_mash", "all_grain"])),
                        name="typed_kind_known",
                    ),
                ],
            },
        ),
    ]
