from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('inventory', '0001_initial'),
    ]

    operations = [
        migrations.AddField(
            model_name='analysis',
            name='at_harvest',
            field=models.BooleanField(default=False),
        ),
        migrations.AddField(
            model_name='analysis',
            name='given_unit',
            field=models.CharField(blank=True, default='', max_length=24),
        ),
        migrations.AddField(
            model_name='analysis',
            name='given_value',
            field=models.FloatField(blank=True, null=True),
        ),
        migrations.AddField(
            model_name='item',
            name='container_quantity',
            field=models.PositiveBigIntegerField(blank=True, null=True),
        ),
        migrations.AddField(
            model_name='item',
            name='crushed_days',
            field=models.PositiveIntegerField(blank=True, null=True),
        ),
        migrations.AddField(
            model_name='item',
            name='opened_days',
            field=models.PositiveIntegerField(blank=True, null=True),
        ),
        migrations.AddField(
            model_name='item',
            name='work_loss',
            field=models.FloatField(default=0.0),
        ),
        migrations.AddField(
            model_name='lot',
            name='crushed_on',
            field=models.DateField(blank=True, null=True),
        ),
        migrations.AddField(
            model_name='lot',
            name='form',
            field=models.CharField(blank=True, choices=[('pellet', 'Pellets'), ('cone', 'Whole cones'), ('plug', 'Plugs')], default='', max_length=8),
        ),
        migrations.AddField(
            model_name='lot',
            name='opened_on',
            field=models.DateField(blank=True, null=True),
        ),
        migrations.AddField(
            model_name='maltspec',
            name='family',
            field=models.CharField(blank=True, choices=[('base_malt', 'Base malt'), ('high_kilned', 'Munich or Vienna malt'), ('wheat_malt', 'Wheat malt'), ('rye_malt', 'Rye malt'), ('crystal', 'Crystal malt'), ('roasted', 'Roasted malt'), ('flaked_corn', 'Flaked corn or rice'), ('flaked_oats', 'Flaked oats, barley or wheat'), ('pale_extract', 'Pale malt extract'), ('munich_extract', 'Munich malt extract'), ('wheat_extract', 'Wheat malt extract'), ('rye_extract', 'Rye malt extract'), ('syrup', 'Brewing syrup'), ('sucrose', 'Cane, beet or candi sugar'), ('glucose', 'Corn sugar, anhydrous'), ('glucose_monohydrate', 'Corn sugar, monohydrate'), ('dextrin', 'Lactose or maltodextrin')], default='', max_length=20),
        ),
        migrations.AddConstraint(
            model_name='item',
            constraint=models.CheckConstraint(condition=models.Q(('work_loss__gte', 0), ('work_loss__lte', 0.5)), name='item_work_loss_share'),
        ),
        migrations.AddConstraint(
            model_name='item',
            constraint=models.CheckConstraint(condition=models.Q(('container_quantity__isnull', True), ('container_quantity__gt', 0), _connector='OR'), name='item_container_holds_something'),
        ),
    ]
