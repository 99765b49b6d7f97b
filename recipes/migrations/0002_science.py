import django.core.validators
import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('inventory', '0002_science'),
        ('recipes', '0001_initial'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name='KitBillSubstitute',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('ratio', models.FloatField()),
                ('exact', models.FloatField()),
                ('packed', models.PositiveBigIntegerField()),
                ('reason', models.CharField(blank=True, default='', max_length=200)),
                ('overage', models.FloatField(default=0.0)),
                ('reference_alpha', models.FloatField(blank=True, null=True)),
                ('ibu_per_gram', models.FloatField(blank=True, null=True)),
                ('minutes_table', models.JSONField(default=list)),
                ('note', models.CharField(blank=True, default='', max_length=120)),
                ('figures', models.JSONField(default=dict)),
            ],
            options={
                'ordering': ['bill_line', 'id'],
            },
        ),
        migrations.CreateModel(
            name='Style',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('code', models.CharField(max_length=20, unique=True, validators=[django.core.validators.RegexValidator('^[A-Z0-9][A-Z0-9-]{0,19}$', 'Write a code of 1 to 20 characters from A-Z, 0-9 and hyphen.')])),
                ('name', models.CharField(max_length=80, unique=True)),
                ('og_min', models.FloatField()),
                ('og_max', models.FloatField()),
                ('fg_min', models.FloatField()),
                ('fg_max', models.FloatField()),
                ('ibu_min', models.FloatField()),
                ('ibu_max', models.FloatField()),
                ('srm_min', models.FloatField()),
                ('srm_max', models.FloatField()),
                ('abv_min', models.FloatField()),
                ('abv_max', models.FloatField()),
            ],
            options={
                'ordering': ['name'],
            },
        ),
        migrations.CreateModel(
            name='Substitute',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('ratio', models.FloatField(default=1.0)),
                ('note', models.CharField(blank=True, default='', max_length=120)),
                ('approved_at', models.DateTimeField(auto_now_add=True)),
            ],
            options={
                'ordering': ['id'],
            },
        ),
        migrations.CreateModel(
            name='TrialBatch',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('version', models.PositiveIntegerField(default=1)),
                ('code', models.CharField(max_length=20, unique=True, validators=[django.core.validators.RegexValidator('^[A-Z0-9][A-Z0-9-]{0,19}$', 'Write a code of 1 to 20 characters from A-Z, 0-9 and hyphen.')])),
                ('brewed_on', models.DateField()),
                ('measured_og', models.FloatField()),
                ('measured_fg', models.FloatField(blank=True, null=True)),
                ('measured_volume', models.PositiveBigIntegerField()),
                ('note', models.CharField(blank=True, default='', max_length=400)),
            ],
            options={
                'ordering': ['-brewed_on', 'code'],
            },
        ),
        migrations.RemoveConstraint(
            model_name='line',
            name='line_hop_has_role_and_alpha',
        ),
        migrations.AddField(
            model_name='kitbillline',
            name='minutes_table',
            field=models.JSONField(default=list),
        ),
        migrations.AddField(
            model_name='line',
            name='least_minutes',
            field=models.PositiveIntegerField(blank=True, null=True),
        ),
        migrations.AddField(
            model_name='line',
            name='most_minutes',
            field=models.PositiveIntegerField(blank=True, null=True),
        ),
        migrations.AddField(
            model_name='method',
            name='attenuation',
            field=models.FloatField(blank=True, null=True),
        ),
        migrations.AddField(
            model_name='method',
            name='carbonation_volumes',
            field=models.FloatField(blank=True, null=True),
        ),
        migrations.AddField(
            model_name='method',
            name='first_wort_minutes',
            field=models.PositiveIntegerField(blank=True, null=True),
        ),
        migrations.AddField(
            model_name='method',
            name='grain_temperature_c',
            field=models.FloatField(blank=True, null=True),
        ),
        migrations.AddField(
            model_name='method',
            name='mash_l_per_kg',
            field=models.FloatField(blank=True, null=True),
        ),
        migrations.AddField(
            model_name='method',
            name='stand_from_c',
            field=models.FloatField(blank=True, null=True),
        ),
        migrations.AddField(
            model_name='method',
            name='stand_minutes',
            field=models.PositiveIntegerField(blank=True, null=True),
        ),
        migrations.AddField(
            model_name='method',
            name='stand_to_c',
            field=models.FloatField(blank=True, null=True),
        ),
        migrations.AlterField(
            model_name='kitbillline',
            name='role',
            field=models.CharField(blank=True, choices=[('hold_weight', 'Hold weight'), ('hold_bitterness', 'Hold bitterness'), ('absorb', 'Absorb'), ('move_time', 'Move time')], default='', max_length=16),
        ),
        migrations.AlterField(
            model_name='line',
            name='role',
            field=models.CharField(blank=True, choices=[('hold_weight', 'Hold weight'), ('hold_bitterness', 'Hold bitterness'), ('absorb', 'Absorb'), ('move_time', 'Move time')], default='', max_length=16),
        ),
        migrations.AddConstraint(
            model_name='line',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('reference_alpha__isnull', True), ('role', '')), models.Q(('reference_alpha__gt', 0), ('reference_alpha__lt', 0.35), ('role__in', ['hold_weight', 'hold_bitterness', 'absorb', 'move_time'])), _connector='OR'), name='line_hop_has_role_and_alpha'),
        ),
        migrations.AddConstraint(
            model_name='line',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('least_minutes__isnull', True), ('most_minutes__isnull', True)), models.Q(('least_minutes__isnull', False), ('least_minutes__lte', models.F('minutes')), ('most_minutes__gte', models.F('minutes')), ('most_minutes__isnull', False), ('role', 'move_time')), _connector='OR'), name='line_time_moves_within_limits'),
        ),
        migrations.AddConstraint(
            model_name='method',
            constraint=models.CheckConstraint(condition=models.Q(('attenuation__isnull', True), models.Q(('attenuation__gt', 0), ('attenuation__lte', 1)), _connector='OR'), name='method_attenuation_is_a_share'),
        ),
        migrations.AddConstraint(
            model_name='method',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('stand_from_c__isnull', True), ('stand_minutes__isnull', True), ('stand_to_c__isnull', True)), models.Q(('stand_from_c__gte', models.F('stand_to_c')), ('stand_from_c__isnull', False), ('stand_from_c__lte', 100), ('stand_minutes__gt', 0), ('stand_minutes__isnull', False), ('stand_to_c__gte', 40), ('stand_to_c__isnull', False)), _connector='OR'), name='method_stand_cools'),
        ),
        migrations.AddField(
            model_name='kitbillsubstitute',
            name='approved_by',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL),
        ),
        migrations.AddField(
            model_name='kitbillsubstitute',
            name='bill_line',
            field=models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='substitutes', to='recipes.kitbillline'),
        ),
        migrations.AddField(
            model_name='kitbillsubstitute',
            name='item',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.item'),
        ),
        migrations.AddConstraint(
            model_name='style',
            constraint=models.CheckConstraint(condition=models.Q(('abv_max__gte', models.F('abv_min')), ('fg_max__gte', models.F('fg_min')), ('ibu_max__gte', models.F('ibu_min')), ('og_max__gte', models.F('og_min')), ('srm_max__gte', models.F('srm_min'))), name='style_ranges_in_order'),
        ),
        migrations.AddField(
            model_name='substitute',
            name='approved_by',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL),
        ),
        migrations.AddField(
            model_name='substitute',
            name='item',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.item'),
        ),
        migrations.AddField(
            model_name='substitute',
            name='line',
            field=models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.CASCADE, related_name='substitutes', to='recipes.line'),
        ),
        migrations.AddField(
            model_name='substitute',
            name='yeast',
            field=models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.CASCADE, related_name='substitutes', to='recipes.yeastoption'),
        ),
        migrations.AddField(
            model_name='trialbatch',
            name='accepted_revision',
            field=models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='calibrated_by', to='recipes.revision'),
        ),
        migrations.AddField(
            model_name='trialbatch',
            name='conversion',
            field=models.OneToOneField(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='trial', to='inventory.conversion'),
        ),
        migrations.AddField(
            model_name='trialbatch',
            name='method',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='trials', to='recipes.method'),
        ),
        migrations.AddField(
            model_name='trialbatch',
            name='recorded_by',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL),
        ),
        migrations.AddConstraint(
            model_name='kitbillsubstitute',
            constraint=models.UniqueConstraint(fields=('bill_line', 'item'), name='kit_substitute_once'),
        ),
        migrations.AddConstraint(
            model_name='kitbillsubstitute',
            constraint=models.CheckConstraint(condition=models.Q(('packed__gt', 0), ('ratio__gt', 0)), name='kit_substitute_packed'),
        ),
        migrations.AddConstraint(
            model_name='substitute',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('line__isnull', True), ('yeast__isnull', False)), models.Q(('line__isnull', False), ('yeast__isnull', True)), _connector='OR'), name='substitute_stands_for_one_thing'),
        ),
        migrations.AddConstraint(
            model_name='substitute',
            constraint=models.CheckConstraint(condition=models.Q(('ratio__gt', 0)), name='substitute_ratio'),
        ),
        migrations.AddConstraint(
            model_name='substitute',
            constraint=models.UniqueConstraint(fields=('line', 'item'), name='substitute_once_per_line'),
        ),
        migrations.AddConstraint(
            model_name='substitute',
            constraint=models.UniqueConstraint(fields=('yeast', 'item'), name='substitute_once_per_yeast'),
        ),
        migrations.AddConstraint(
            model_name='trialbatch',
            constraint=models.CheckConstraint(condition=models.Q(('measured_og__gt', 1), ('measured_og__lt', 1.2), ('measured_volume__gt', 0)), name='trial_measured'),
        ),
        migrations.AddConstraint(
            model_name='trialbatch',
            constraint=models.CheckConstraint(condition=models.Q(('measured_fg__isnull', True), models.Q(('measured_fg__gt', 0.98), ('measured_fg__lte', models.F('measured_og'))), _connector='OR'), name='trial_fermented'),
        ),
    ]
