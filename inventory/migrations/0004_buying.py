import django.core.validators
import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('inventory', '0003_works'),
    ]

    operations = [
        migrations.CreateModel(
            name='Contract',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('version', models.PositiveIntegerField(default=1)),
                ('code', models.CharField(max_length=20, unique=True, validators=[django.core.validators.RegexValidator('^[A-Z0-9][A-Z0-9-]{0,19}$', 'Write a code of 1 to 20 characters from A-Z, 0-9 and hyphen.')])),
                ('crop_year', models.PositiveSmallIntegerField(blank=True, null=True)),
                ('quantity', models.PositiveBigIntegerField()),
                ('pack_price', models.PositiveBigIntegerField(blank=True, null=True)),
                ('from_on', models.DateField()),
                ('until_on', models.DateField()),
            ],
            options={
                'ordering': ['code'],
            },
        ),
        migrations.CreateModel(
            name='CropYear',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('year', models.PositiveSmallIntegerField()),
                ('from_on', models.DateField()),
                ('planning_alpha', models.FloatField()),
            ],
            options={
                'ordering': ['item', 'from_on'],
            },
        ),
        migrations.AddField(
            model_name='item',
            name='fixed_quantity',
            field=models.PositiveBigIntegerField(blank=True, null=True),
        ),
        migrations.AddField(
            model_name='item',
            name='lot_rule',
            field=models.CharField(choices=[('lot_for_lot', 'Each requirement by itself'), ('fixed', 'A fixed quantity'), ('period', 'What a period needs'), ('minimum', 'A minimum and whole packs'), ('least_cost', 'Least total cost')], default='period', max_length=12),
        ),
        migrations.AddField(
            model_name='item',
            name='order_cost',
            field=models.PositiveBigIntegerField(default=0),
        ),
        migrations.AddField(
            model_name='item',
            name='period_days',
            field=models.PositiveIntegerField(blank=True, null=True),
        ),
        migrations.AddField(
            model_name='item',
            name='quarantine_days',
            field=models.PositiveIntegerField(default=0),
        ),
        migrations.AddField(
            model_name='supplier',
            name='counts_working_days',
            field=models.BooleanField(default=False),
        ),
        migrations.AddField(
            model_name='supplier',
            name='order_weekdays',
            field=models.CharField(default='0123456', max_length=7),
        ),
        migrations.AlterField(
            model_name='conversion',
            name='kind',
            field=models.CharField(choices=[('pack', 'Pack kits'), ('repack', 'Repack'), ('mill', 'Mill'), ('decant', 'Decant'), ('blend', 'Blend'), ('break_down', 'Break down'), ('trial', 'Trial batch'), ('dispatch', 'Dispatch')], max_length=12),
        ),
        migrations.AddConstraint(
            model_name='item',
            constraint=models.CheckConstraint(condition=models.Q(('lot_rule__in', ['lot_for_lot', 'fixed', 'period', 'minimum', 'least_cost']), models.Q(models.Q(('lot_rule', 'fixed'), _negated=True), ('fixed_quantity__gt', 0), _connector='OR'), models.Q(('period_days__isnull', True), ('period_days__gt', 0), _connector='OR')), name='item_lot_rule_whole'),
        ),
        migrations.AddConstraint(
            model_name='supplier',
            constraint=models.CheckConstraint(condition=models.Q(('order_weekdays__regex', '^0?1?2?3?4?5?6?$')), name='supplier_order_weekdays'),
        ),
        migrations.AddField(
            model_name='contract',
            name='offer',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='contracts', to='inventory.supplieritem'),
        ),
        migrations.AddField(
            model_name='cropyear',
            name='item',
            field=models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='crops', to='inventory.item'),
        ),
        migrations.AddConstraint(
            model_name='contract',
            constraint=models.CheckConstraint(condition=models.Q(('quantity__gt', 0), ('until_on__gte', models.F('from_on'))), name='contract_possible'),
        ),
        migrations.AddConstraint(
            model_name='cropyear',
            constraint=models.UniqueConstraint(fields=('item', 'year'), name='crop_year_once'),
        ),
        migrations.AddConstraint(
            model_name='cropyear',
            constraint=models.UniqueConstraint(fields=('item', 'from_on'), name='crop_day_once'),
        ),
        migrations.AddConstraint(
            model_name='cropyear',
            constraint=models.CheckConstraint(condition=models.Q(('planning_alpha__gt', 0), ('planning_alpha__lt', 0.35)), name='crop_planning_alpha_possible'),
        ),
    ]
