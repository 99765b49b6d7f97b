import django.core.validators
import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):

    initial = True

    dependencies = [
        ('inventory', '0001_initial'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name='Method',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('kind', models.CharField(choices=[('extract', 'Extract with steeped grain'), ('partial_mash', 'Partial mash'), ('all_grain', 'All-grain')], max_length=12)),
                ('finished_volume', models.PositiveBigIntegerField()),
                ('pre_boil_volume', models.PositiveBigIntegerField()),
                ('post_boil_volume', models.PositiveBigIntegerField()),
                ('boil_minutes', models.PositiveIntegerField(default=60)),
                ('mash_efficiency', models.FloatField(default=0.75)),
                ('mash_temperature_c', models.FloatField(blank=True, null=True)),
                ('ferment_temperature_c', models.FloatField(default=20.0)),
                ('steps', models.TextField(blank=True, default='')),
                ('frozen', models.JSONField(default=dict)),
            ],
            options={
                'ordering': ['revision', 'kind'],
            },
        ),
        migrations.CreateModel(
            name='Recipe',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('version', models.PositiveIntegerField(default=1)),
                ('code', models.CharField(max_length=20, unique=True, validators=[django.core.validators.RegexValidator('^[A-Z0-9][A-Z0-9-]{0,19}$', 'Write a code of 1 to 20 characters from A-Z, 0-9 and hyphen.')])),
                ('name', models.CharField(max_length=120)),
                ('style', models.CharField(blank=True, default='', max_length=80)),
                ('notes', models.CharField(blank=True, default='', max_length=400)),
            ],
            options={
                'ordering': ['code'],
            },
        ),
        migrations.CreateModel(
            name='Kit',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('version', models.PositiveIntegerField(default=1)),
                ('volume', models.PositiveBigIntegerField()),
                ('shelf_days', models.PositiveIntegerField(default=90)),
                ('yeast_part', models.CharField(choices=[('packed', 'Packed to stock'), ('dispatch', 'Added at dispatch')], default='dispatch', max_length=8)),
                ('offered', models.BooleanField(default=False)),
                ('target_ibu', models.FloatField(blank=True, null=True)),
                ('figures', models.JSONField(default=dict)),
                ('price', models.PositiveBigIntegerField(default=0)),
                ('item', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, related_name='kit', to='inventory.item')),
                ('method', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='kits', to='recipes.method')),
            ],
            options={
                'ordering': ['item'],
            },
        ),
        migrations.CreateModel(
            name='Line',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('position', models.PositiveSmallIntegerField()),
                ('use', models.CharField(choices=[('mash', 'Mash'), ('steep', 'Steep'), ('first_wort', 'First wort'), ('boil', 'Boil'), ('flame_out', 'Flame out'), ('whirlpool', 'Whirlpool'), ('dry_hop', 'Dry hop'), ('fermenter', 'Fermenter'), ('priming', 'Priming')], max_length=12)),
                ('minutes', models.PositiveIntegerField(default=0)),
                ('quantity', models.PositiveBigIntegerField()),
                ('role', models.CharField(blank=True, choices=[('hold_weight', 'Hold weight'), ('hold_bitterness', 'Hold bitterness'), ('absorb', 'Absorb')], default='', max_length=16)),
                ('reference_alpha', models.FloatField(blank=True, null=True)),
                ('note', models.CharField(blank=True, default='', max_length=120)),
                ('item', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.item')),
                ('method', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='lines', to='recipes.method')),
            ],
            options={
                'ordering': ['method', 'position'],
            },
        ),
        migrations.CreateModel(
            name='Revision',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('version', models.PositiveIntegerField(default=1)),
                ('number', models.PositiveIntegerField()),
                ('state', models.CharField(choices=[('draft', 'Draft'), ('trial', 'Trial'), ('offered', 'Offered'), ('retired', 'Retired')], default='draft', max_length=8)),
                ('reason', models.CharField(blank=True, default='', max_length=200)),
                ('content_hash', models.CharField(blank=True, default='', max_length=64)),
                ('offered_at', models.DateTimeField(blank=True, null=True)),
                ('offered_by', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('recipe', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='revisions', to='recipes.recipe')),
            ],
            options={
                'ordering': ['recipe', 'number'],
            },
        ),
        migrations.AddField(
            model_name='method',
            name='revision',
            field=models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='methods', to='recipes.revision'),
        ),
        migrations.CreateModel(
            name='YeastOption',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('position', models.PositiveSmallIntegerField(default=1)),
                ('item', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.item')),
                ('revision', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='yeasts', to='recipes.revision')),
            ],
            options={
                'ordering': ['revision', 'position'],
            },
        ),
        migrations.CreateModel(
            name='KitPart',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('quantity', models.PositiveBigIntegerField()),
                ('part', models.CharField(choices=[('packed', 'Packed to stock'), ('dispatch', 'Added at dispatch')], default='packed', max_length=8)),
                ('item', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.item')),
                ('kit', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='parts', to='recipes.kit')),
            ],
            options={
                'ordering': ['kit', 'id'],
                'constraints': [models.UniqueConstraint(fields=('kit', 'item', 'part'), name='kit_part_once'), models.CheckConstraint(condition=models.Q(('quantity__gt', 0)), name='kit_part_quantity')],
            },
        ),
        migrations.CreateModel(
            name='KitBillLine',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('key', models.CharField(max_length=24)),
                ('position', models.PositiveSmallIntegerField()),
                ('use', models.CharField(blank=True, choices=[('mash', 'Mash'), ('steep', 'Steep'), ('first_wort', 'First wort'), ('boil', 'Boil'), ('flame_out', 'Flame out'), ('whirlpool', 'Whirlpool'), ('dry_hop', 'Dry hop'), ('fermenter', 'Fermenter'), ('priming', 'Priming')], default='', max_length=12)),
                ('minutes', models.PositiveIntegerField(default=0)),
                ('part', models.CharField(choices=[('packed', 'Packed to stock'), ('dispatch', 'Added at dispatch')], default='packed', max_length=8)),
                ('exact', models.FloatField()),
                ('packed', models.PositiveBigIntegerField()),
                ('reason', models.CharField(blank=True, default='', max_length=200)),
                ('overage', models.FloatField(default=0.0)),
                ('role', models.CharField(blank=True, choices=[('hold_weight', 'Hold weight'), ('hold_bitterness', 'Hold bitterness'), ('absorb', 'Absorb')], default='', max_length=16)),
                ('reference_alpha', models.FloatField(blank=True, null=True)),
                ('ibu_per_gram', models.FloatField(blank=True, null=True)),
                ('is_yeast_option', models.BooleanField(default=False)),
                ('item', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.item')),
                ('kit', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='bill', to='recipes.kit')),
                ('line', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, to='recipes.line')),
            ],
            options={
                'ordering': ['kit', 'position'],
                'constraints': [models.UniqueConstraint(fields=('kit', 'key'), name='kit_bill_key_once'), models.CheckConstraint(condition=models.Q(('packed__gt', 0)), name='kit_bill_packed')],
            },
        ),
        migrations.AddConstraint(
            model_name='line',
            constraint=models.UniqueConstraint(fields=('method', 'position'), name='line_position_once'),
        ),
        migrations.AddConstraint(
            model_name='line',
            constraint=models.CheckConstraint(condition=models.Q(('quantity__gt', 0)), name='line_quantity'),
        ),
        migrations.AddConstraint(
            model_name='line',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('reference_alpha__isnull', True), ('role', '')), models.Q(('reference_alpha__gt', 0), ('reference_alpha__lt', 0.35), ('role__in', ['hold_weight', 'hold_bitterness', 'absorb'])), _connector='OR'), name='line_hop_has_role_and_alpha'),
        ),
        migrations.AddConstraint(
            model_name='kit',
            constraint=models.CheckConstraint(condition=models.Q(('volume__gt', 0)), name='kit_volume_positive'),
        ),
        migrations.AddConstraint(
            model_name='kit',
            constraint=models.CheckConstraint(condition=models.Q(('offered', False), ('target_ibu__isnull', False), _connector='OR'), name='kit_offered_has_a_target'),
        ),
        migrations.AddConstraint(
            model_name='revision',
            constraint=models.UniqueConstraint(fields=('recipe', 'number'), name='revision_number_once'),
        ),
        migrations.AddConstraint(
            model_name='revision',
            constraint=models.CheckConstraint(condition=models.Q(('state__in', ['draft', 'trial', 'offered', 'retired'])), name='revision_state_known'),
        ),
        migrations.AddConstraint(
            model_name='revision',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('state__in', ('offered', 'retired')), _negated=True), models.Q(('content_hash', ''), _negated=True), _connector='OR'), name='revision_offered_is_frozen'),
        ),
        migrations.AddConstraint(
            model_name='method',
            constraint=models.UniqueConstraint(fields=('revision', 'kind'), name='method_once_per_revision'),
        ),
        migrations.AddConstraint(
            model_name='method',
            constraint=models.CheckConstraint(condition=models.Q(('kind__in', ['extract', 'partial_mash', 'all_grain'])), name='method_kind_known'),
        ),
        migrations.AddConstraint(
            model_name='method',
            constraint=models.CheckConstraint(condition=models.Q(('finished_volume__gt', 0), ('post_boil_volume__gt', 0), ('pre_boil_volume__gte', models.F('post_boil_volume'))), name='method_boils_down'),
        ),
        migrations.AddConstraint(
            model_name='method',
            constraint=models.CheckConstraint(condition=models.Q(('mash_efficiency__gt', 0), ('mash_efficiency__lte', 1)), name='method_efficiency_is_a_share'),
        ),
        migrations.AddConstraint(
            model_name='yeastoption',
            constraint=models.UniqueConstraint(fields=('revision', 'item'), name='yeast_option_once'),
        ),
        migrations.AddConstraint(
            model_name='yeastoption',
            constraint=models.UniqueConstraint(fields=('revision', 'position'), name='yeast_option_position'),
        ),
    ]
