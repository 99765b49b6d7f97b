import django.db.models.deletion
from django.db import migrations, models


def name_makers(apps, schema_editor):
    """Let each lot name the work that brought it out of production."""
    using = schema_editor.connection.alias
    made = apps.get_model("inventory", "Move").objects.using(using).filter(
        posting__kind="conversion", from_place__kind="production"
    )
    for work, lot in made.order_by("pk").values_list("posting__conversion", "lot"):
        apps.get_model("inventory", "Lot").objects.using(using).filter(pk=lot).update(made_by=work)


def keep_origins(apps, schema_editor):
    """Refuse to go back where lots go on from others: the older tables cannot say from which."""
    Lot = apps.get_model("inventory", "Lot")
    count = Lot.objects.using(schema_editor.connection.alias).filter(from_lot__isnull=False).count()
    if count:
        msg = (
            f"{count} lots go on from other lots, and the older tables would forget from which. "
            "Restore a backup from before this migration instead."
        )
        raise RuntimeError(msg)


def name_lots(apps, schema_editor):
    """Let each work name its lot again; of several the first."""
    Conversion = apps.get_model("inventory", "Conversion")
    Lot = apps.get_model("inventory", "Lot")
    made = Lot.objects.using(schema_editor.connection.alias).filter(made_by__isnull=False)
    for work, lot in made.order_by("-pk").values_list("made_by", "pk"):
        Conversion.objects.using(schema_editor.connection.alias).filter(pk=work).update(
            output_lot=lot
        )


class Migration(migrations.Migration):

    dependencies = [
        ('inventory', '0002_science'),
    ]

    operations = [
        # the name "made_by" goes over to the lot
        migrations.AlterField(
            model_name='conversion',
            name='output_lot',
            field=models.OneToOneField(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.lot'),
        ),
        migrations.AddField(
            model_name='lot',
            name='made_by',
            field=models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='outputs', to='inventory.conversion'),
        ),
        migrations.RunPython(name_makers, name_lots),
        migrations.RemoveField(
            model_name='conversion',
            name='output_lot',
        ),
        migrations.AddField(
            model_name='conversion',
            name='best_before_was',
            field=models.DateField(blank=True, null=True),
        ),
        migrations.AddField(
            model_name='conversion',
            name='opened_lot',
            field=models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='opened_by', to='inventory.lot'),
        ),
        migrations.AddField(
            model_name='lot',
            name='from_lot',
            field=models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='goes_on_in', to='inventory.lot'),
        ),
        migrations.AddField(
            model_name='lot',
            name='parted_on',
            field=models.DateField(blank=True, null=True),
        ),
        migrations.AlterField(
            model_name='analysis',
            name='method',
            field=models.CharField(choices=[('spectrophotometric', 'Spectrophotometric'), ('conductometric', 'Conductometric'), ('hplc', 'HPLC'), ('certificate', 'As the certificate says'), ('count', 'Cell count'), ('computed', 'Blend, computed')], default='certificate', max_length=20),
        ),
        migrations.RunPython(migrations.RunPython.noop, keep_origins),
    ]
