import django.core.validators
import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):

    initial = True

    dependencies = [
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name='Supplier',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('version', models.PositiveIntegerField(default=1)),
                ('code', models.CharField(max_length=20, unique=True, validators=[django.core.validators.RegexValidator('^[A-Z0-9][A-Z0-9-]{0,19}$', 'Write a code of 1 to 20 characters from A-Z, 0-9 and hyphen.')])),
                ('name', models.CharField(max_length=120)),
                ('email', models.EmailField(blank=True, default='', max_length=254)),
                ('lead_days', models.PositiveIntegerField(default=7)),
                ('active', models.BooleanField(default=True)),
            ],
            options={
                'ordering': ['code'],
            },
        ),
        migrations.CreateModel(
            name='Item',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('version', models.PositiveIntegerField(default=1)),
                ('code', models.CharField(max_length=20, unique=True, validators=[django.core.validators.RegexValidator('^[A-Z0-9][A-Z0-9-]{0,19}$', 'Write a code of 1 to 20 characters from A-Z, 0-9 and hyphen.')])),
                ('name', models.CharField(max_length=120)),
                ('kind', models.CharField(choices=[('grain', 'Grain'), ('extract', 'Extract'), ('sugar', 'Sugar'), ('hop', 'Hop'), ('yeast', 'Yeast'), ('fining', 'Fining'), ('mineral', 'Mineral'), ('flavouring', 'Flavouring'), ('packaging', 'Packaging'), ('printed', 'Printed matter'), ('kit', 'Kit')], max_length=12)),
                ('measure', models.CharField(choices=[('mass', 'Mass'), ('volume', 'Volume'), ('count', 'Count')], max_length=8)),
                ('overage', models.FloatField(default=0.0)),
                ('safety_stock', models.PositiveBigIntegerField(default=0)),
                ('shelf_days', models.PositiveIntegerField(blank=True, null=True)),
                ('allergens', models.JSONField(default=list)),
                ('notes', models.CharField(blank=True, default='', max_length=200)),
                ('active', models.BooleanField(default=True)),
            ],
            options={
                'ordering': ['code'],
                'constraints': [models.CheckConstraint(condition=models.Q(('kind__in', ['grain', 'extract', 'sugar', 'hop', 'yeast', 'fining', 'mineral', 'flavouring', 'packaging', 'printed', 'kit'])), name='item_kind_known'), models.CheckConstraint(condition=models.Q(('measure__in', ['mass', 'volume', 'count'])), name='item_measure_known'), models.CheckConstraint(condition=models.Q(('overage__gte', 0), ('overage__lte', 0.5)), name='item_overage_share')],
            },
        ),
        migrations.CreateModel(
            name='Lot',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('version', models.PositiveIntegerField(default=1)),
                ('code', models.CharField(max_length=20, unique=True, validators=[django.core.validators.RegexValidator('^[A-Z0-9][A-Z0-9-]{0,19}$', 'Write a code of 1 to 20 characters from A-Z, 0-9 and hyphen.')])),
                ('supplier_lot', models.CharField(blank=True, default='', max_length=40)),
                ('received_on', models.DateField()),
                ('packaged_on', models.DateField(blank=True, null=True)),
                ('best_before_on', models.DateField(blank=True, null=True)),
                ('status', models.CharField(choices=[('quarantine', 'Quarantine'), ('released', 'Released'), ('on_hold', 'On hold'), ('rejected', 'Rejected')], default='quarantine', max_length=12)),
                ('status_reason', models.CharField(blank=True, default='', max_length=200)),
                ('packing', models.CharField(blank=True, choices=[('loose', 'Loose, in air'), ('airtight', 'Airtight'), ('barrier', 'Oxygen barrier, vacuum or inert gas')], default='', max_length=8)),
                ('cost_amount', models.PositiveBigIntegerField(default=0)),
                ('cost_quantity', models.PositiveBigIntegerField(default=0)),
                ('item', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='lots', to='inventory.item')),
                ('supplier', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, to='inventory.supplier')),
            ],
            options={
                'ordering': ['code'],
            },
        ),
        migrations.CreateModel(
            name='Conversion',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('code', models.CharField(max_length=20, unique=True, validators=[django.core.validators.RegexValidator('^[A-Z0-9][A-Z0-9-]{0,19}$', 'Write a code of 1 to 20 characters from A-Z, 0-9 and hyphen.')])),
                ('kind', models.CharField(choices=[('pack', 'Pack kits'), ('repack', 'Repack'), ('mill', 'Mill'), ('decant', 'Decant'), ('blend', 'Blend'), ('break_down', 'Break down'), ('trial', 'Trial batch')], max_length=12)),
                ('state', models.CharField(choices=[('open', 'Open'), ('done', 'Done'), ('cancelled', 'Cancelled')], default='open', max_length=12)),
                ('opened_at', models.DateTimeField(auto_now_add=True)),
                ('output_lot', models.OneToOneField(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='made_by', to='inventory.lot')),
            ],
            options={
                'ordering': ['code'],
            },
        ),
        migrations.CreateModel(
            name='Analysis',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('kind', models.CharField(choices=[('alpha', 'Alpha acid'), ('storage_index', 'Hop storage index'), ('extract', 'Extract'), ('colour', 'Colour'), ('moisture', 'Moisture'), ('power', 'Enzyme power'), ('cells', 'Cells per pack'), ('viability', 'Viability')], max_length=16)),
                ('sampled_on', models.DateField()),
                ('value', models.FloatField()),
                ('spread', models.FloatField(blank=True, null=True)),
                ('method', models.CharField(choices=[('spectrophotometric', 'Spectrophotometric'), ('conductometric', 'Conductometric'), ('hplc', 'HPLC'), ('certificate', 'As the certificate says'), ('count', 'Cell count')], default='certificate', max_length=20)),
                ('basis', models.CharField(choices=[('as_is', 'As is'), ('dry', 'Dry')], default='as_is', max_length=8)),
                ('recorded_at', models.DateTimeField(auto_now_add=True)),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('supersedes', models.OneToOneField(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, to='inventory.analysis')),
                ('lot', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='analyses', to='inventory.lot')),
            ],
            options={
                'ordering': ['lot', 'kind', '-sampled_on', '-id'],
            },
        ),
        migrations.CreateModel(
            name='MaltSpec',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('points_l_per_kg', models.FloatField()),
                ('steep_points_l_per_kg', models.FloatField(default=0.0)),
                ('colour_lovibond', models.FloatField(default=0.0)),
                ('power_lintner', models.FloatField(default=0.0)),
                ('fermentability', models.FloatField(default=1.0)),
                ('must_mash', models.BooleanField(default=False)),
                ('item', models.OneToOneField(on_delete=django.db.models.deletion.CASCADE, related_name='malt', to='inventory.item')),
            ],
        ),
        migrations.CreateModel(
            name='Place',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('version', models.PositiveIntegerField(default=1)),
                ('code', models.CharField(max_length=20, unique=True, validators=[django.core.validators.RegexValidator('^[A-Z0-9][A-Z0-9-]{0,19}$', 'Write a code of 1 to 20 characters from A-Z, 0-9 and hyphen.')])),
                ('name', models.CharField(max_length=80)),
                ('kind', models.CharField(choices=[('supplier', 'Supplier'), ('storage', 'Storage'), ('production', 'Production'), ('customer', 'Customer'), ('waste', 'Waste'), ('correction', 'Correction')], default='storage', max_length=12)),
            ],
            options={
                'ordering': ['code'],
                'constraints': [models.CheckConstraint(condition=models.Q(('kind__in', ['supplier', 'storage', 'production', 'customer', 'waste', 'correction'])), name='place_kind_known'), models.UniqueConstraint(condition=models.Q(('kind', 'storage'), _negated=True), fields=('kind',), name='place_one_of_each_fixed_kind')],
            },
        ),
        migrations.CreateModel(
            name='Balance',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('holds_stock', models.BooleanField()),
                ('quantity', models.BigIntegerField(default=0)),
                ('lot', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='balances', to='inventory.lot')),
                ('place', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.place')),
            ],
            options={
                'ordering': ['lot', 'place'],
            },
        ),
        migrations.CreateModel(
            name='PlaceTemperature',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('from_on', models.DateField()),
                ('temperature_c', models.FloatField()),
                ('place', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='temperatures', to='inventory.place')),
            ],
            options={
                'ordering': ['place', 'from_on'],
            },
        ),
        migrations.CreateModel(
            name='Posting',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('kind', models.CharField(choices=[('opening', 'Opening stock'), ('receipt', 'Receipt'), ('transfer', 'Moved'), ('count', 'Count'), ('waste', 'Waste'), ('sample', 'Sample'), ('given_away', 'Given away'), ('conversion', 'Conversion'), ('dispatch', 'Dispatch'), ('reversal', 'Reversal')], max_length=12)),
                ('occurred_on', models.DateField()),
                ('recorded_at', models.DateTimeField(auto_now_add=True)),
                ('key', models.CharField(max_length=80)),
                ('fingerprint', models.CharField(max_length=64)),
                ('reason', models.CharField(blank=True, default='', max_length=200)),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('conversion', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='postings', to='inventory.conversion')),
                ('reverses', models.OneToOneField(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='reversed_by', to='inventory.posting')),
            ],
            options={
                'ordering': ['id'],
            },
        ),
        migrations.CreateModel(
            name='Move',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('quantity', models.PositiveBigIntegerField()),
                ('lot', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='moves', to='inventory.lot')),
                ('from_place', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.place')),
                ('to_place', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.place')),
                ('posting', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='moves', to='inventory.posting')),
            ],
            options={
                'ordering': ['id'],
            },
        ),
        migrations.CreateModel(
            name='Reservation',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('line', models.CharField(max_length=40)),
                ('quantity', models.PositiveBigIntegerField()),
                ('needed_on', models.DateField()),
                ('made_at', models.DateTimeField(auto_now_add=True)),
                ('ended_at', models.DateTimeField(blank=True, null=True)),
                ('ending', models.CharField(blank=True, choices=[('used', 'Used'), ('released', 'Given back'), ('replaced', 'Replaced'), ('lost', 'Lost to a count or rejection')], default='', max_length=10)),
                ('conversion', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='reservations', to='inventory.conversion')),
                ('lot', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='reservations', to='inventory.lot')),
            ],
            options={
                'ordering': ['conversion', 'line', 'lot'],
            },
        ),
        migrations.CreateModel(
            name='SupplierItem',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('version', models.PositiveIntegerField(default=1)),
                ('supplier_code', models.CharField(blank=True, default='', max_length=40)),
                ('pack_quantity', models.PositiveBigIntegerField()),
                ('minimum_packs', models.PositiveIntegerField(default=1)),
                ('lead_days', models.PositiveIntegerField(blank=True, null=True)),
                ('preferred', models.BooleanField(default=False)),
                ('item', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='offers', to='inventory.item')),
                ('supplier', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='offers', to='inventory.supplier')),
            ],
            options={
                'ordering': ['supplier', 'item'],
            },
        ),
        migrations.CreateModel(
            name='PriceBreak',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('from_packs', models.PositiveIntegerField(default=1)),
                ('pack_price', models.PositiveBigIntegerField()),
                ('offer', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='breaks', to='inventory.supplieritem')),
            ],
            options={
                'ordering': ['offer', 'from_packs'],
            },
        ),
        migrations.CreateModel(
            name='YeastSpec',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('form', models.CharField(choices=[('liquid', 'Liquid'), ('dry', 'Dry')], max_length=8)),
                ('attenuation', models.FloatField()),
                ('cells_per_pack', models.FloatField(default=0.0)),
                ('pack_grams', models.FloatField(default=0.0)),
                ('pitch_million', models.FloatField(default=0.75)),
                ('dose_g_per_hl', models.FloatField(default=0.0)),
                ('viability_rule', models.CharField(choices=[('linear', 'Linear'), ('exponential', 'Exponential')], default='linear', max_length=12)),
                ('target_share', models.FloatField(default=1.0)),
                ('floor_share', models.FloatField(default=0.5)),
                ('strain_group', models.CharField(blank=True, default='', max_length=40)),
                ('item', models.OneToOneField(on_delete=django.db.models.deletion.CASCADE, related_name='yeast', to='inventory.item')),
            ],
        ),
        migrations.CreateModel(
            name='HopSpec',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('form', models.CharField(choices=[('pellet', 'Pellets'), ('cone', 'Whole cones'), ('plug', 'Plugs')], default='pellet', max_length=8)),
                ('planning_alpha', models.FloatField()),
                ('lost_in_six_months', models.FloatField()),
                ('packing', models.CharField(choices=[('loose', 'Loose, in air'), ('airtight', 'Airtight'), ('barrier', 'Oxygen barrier, vacuum or inert gas')], default='barrier', max_length=8)),
                ('item', models.OneToOneField(on_delete=django.db.models.deletion.CASCADE, related_name='hop', to='inventory.item')),
            ],
            options={
                'constraints': [models.CheckConstraint(condition=models.Q(('planning_alpha__gt', 0), ('planning_alpha__lt', 0.35)), name='hop_planning_alpha_possible'), models.CheckConstraint(condition=models.Q(('lost_in_six_months__gte', 0), ('lost_in_six_months__lt', 1)), name='hop_loss_is_a_share')],
            },
        ),
        migrations.CreateModel(
            name='LotStock',
            fields=[
                ('lot', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, primary_key=True, related_name='stock', serialize=False, to='inventory.lot')),
                ('on_hand', models.BigIntegerField(default=0)),
                ('reserved', models.BigIntegerField(default=0)),
            ],
            options={
                'constraints': [models.CheckConstraint(condition=models.Q(('reserved__gte', 0), ('reserved__lte', models.F('on_hand'))), name='lot_stock_reserved_within_on_hand')],
            },
        ),
        migrations.AddConstraint(
            model_name='conversion',
            constraint=models.CheckConstraint(condition=models.Q(('state__in', ['open', 'done', 'cancelled'])), name='conversion_state_known'),
        ),
        migrations.AddIndex(
            model_name='analysis',
            index=models.Index(fields=['lot', 'kind'], name='analysis_lot_kind'),
        ),
        migrations.AddConstraint(
            model_name='analysis',
            constraint=models.CheckConstraint(condition=models.Q(('kind__in', ['alpha', 'storage_index', 'extract', 'colour', 'moisture', 'power', 'cells', 'viability'])), name='analysis_kind_known'),
        ),
        migrations.AddConstraint(
            model_name='analysis',
            constraint=models.CheckConstraint(condition=models.Q(('value__gte', 0)), name='analysis_value_not_negative'),
        ),
        migrations.AddConstraint(
            model_name='analysis',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('kind__in', ('alpha', 'moisture', 'viability')), _negated=True), ('value__lte', 1), _connector='OR'), name='analysis_share_at_most_one'),
        ),
        migrations.AddConstraint(
            model_name='maltspec',
            constraint=models.CheckConstraint(condition=models.Q(('points_l_per_kg__gte', 0), ('points_l_per_kg__lte', 400)), name='malt_points_possible'),
        ),
        migrations.AddConstraint(
            model_name='maltspec',
            constraint=models.CheckConstraint(condition=models.Q(('fermentability__gte', 0), ('fermentability__lte', 1.5)), name='malt_fermentability_possible'),
        ),
        migrations.AddConstraint(
            model_name='balance',
            constraint=models.UniqueConstraint(fields=('lot', 'place'), name='balance_once'),
        ),
        migrations.AddConstraint(
            model_name='balance',
            constraint=models.CheckConstraint(condition=models.Q(('holds_stock', False), ('quantity__gte', 0), _connector='OR'), name='balance_storage_not_below_zero'),
        ),
        migrations.AddConstraint(
            model_name='placetemperature',
            constraint=models.UniqueConstraint(fields=('place', 'from_on'), name='place_temperature_day'),
        ),
        migrations.AddConstraint(
            model_name='placetemperature',
            constraint=models.CheckConstraint(condition=models.Q(('temperature_c__gte', -40), ('temperature_c__lte', 60)), name='place_temperature_possible'),
        ),
        migrations.AddConstraint(
            model_name='posting',
            constraint=models.UniqueConstraint(fields=('by', 'key'), name='posting_key_once_per_person'),
        ),
        migrations.AddConstraint(
            model_name='posting',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('kind', 'reversal'), ('reverses__isnull', False)), models.Q(models.Q(('kind', 'reversal'), _negated=True), ('reverses__isnull', True)), _connector='OR'), name='posting_reversal_names_its_posting'),
        ),
        migrations.AddConstraint(
            model_name='move',
            constraint=models.CheckConstraint(condition=models.Q(('quantity__gt', 0)), name='move_quantity_positive'),
        ),
        migrations.AddConstraint(
            model_name='move',
            constraint=models.CheckConstraint(condition=models.Q(('from_place', models.F('to_place')), _negated=True), name='move_goes_somewhere'),
        ),
        migrations.AddConstraint(
            model_name='reservation',
            constraint=models.UniqueConstraint(condition=models.Q(('ended_at__isnull', True)), fields=('conversion', 'lot', 'line'), name='reservation_open_once_per_line'),
        ),
        migrations.AddConstraint(
            model_name='reservation',
            constraint=models.CheckConstraint(condition=models.Q(('quantity__gt', 0)), name='reservation_quantity_positive'),
        ),
        migrations.AddConstraint(
            model_name='reservation',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('ended_at__isnull', True), ('ending', '')), models.Q(('ended_at__isnull', False), ('ending__in', ['used', 'released', 'replaced', 'lost'])), _connector='OR'), name='reservation_ends_with_a_reason'),
        ),
        migrations.AddIndex(
            model_name='lot',
            index=models.Index(fields=['item', 'status'], name='lot_item_status'),
        ),
        migrations.AddConstraint(
            model_name='lot',
            constraint=models.CheckConstraint(condition=models.Q(('status__in', ['quarantine', 'released', 'on_hold', 'rejected'])), name='lot_status_known'),
        ),
        migrations.AddConstraint(
            model_name='lot',
            constraint=models.CheckConstraint(condition=models.Q(('best_before_on__isnull', True), ('packaged_on__isnull', True), ('best_before_on__gte', models.F('packaged_on')), _connector='OR'), name='lot_best_before_after_packaging'),
        ),
        migrations.AddConstraint(
            model_name='lot',
            constraint=models.CheckConstraint(condition=models.Q(('cost_amount', 0), ('cost_quantity__gt', 0), _connector='OR'), name='lot_cost_has_a_quantity'),
        ),
        migrations.AddConstraint(
            model_name='supplieritem',
            constraint=models.UniqueConstraint(fields=('supplier', 'item', 'pack_quantity'), name='supplier_item_pack_once'),
        ),
        migrations.AddConstraint(
            model_name='supplieritem',
            constraint=models.UniqueConstraint(condition=models.Q(('preferred', True)), fields=('item',), name='supplier_item_one_preferred'),
        ),
        migrations.AddConstraint(
            model_name='supplieritem',
            constraint=models.CheckConstraint(condition=models.Q(('minimum_packs__gt', 0), ('pack_quantity__gt', 0)), name='supplier_item_pack_positive'),
        ),
        migrations.AddConstraint(
            model_name='pricebreak',
            constraint=models.UniqueConstraint(fields=('offer', 'from_packs'), name='price_break_once'),
        ),
        migrations.AddConstraint(
            model_name='pricebreak',
            constraint=models.CheckConstraint(condition=models.Q(('from_packs__gt', 0)), name='price_break_from_one'),
        ),
        migrations.AddConstraint(
            model_name='yeastspec',
            constraint=models.CheckConstraint(condition=models.Q(('attenuation__gt', 0), ('attenuation__lte', 1)), name='yeast_attenuation_is_a_share'),
        ),
        migrations.AddConstraint(
            model_name='yeastspec',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('cells_per_pack__gt', 0), ('form', 'liquid'), ('pitch_million__gt', 0)), models.Q(('dose_g_per_hl__gt', 0), ('form', 'dry'), ('pack_grams__gt', 0)), _connector='OR'), name='yeast_pack_described'),
        ),
        migrations.AddConstraint(
            model_name='yeastspec',
            constraint=models.CheckConstraint(condition=models.Q(('floor_share__gt', 0), ('target_share__gte', models.F('floor_share'))), name='yeast_floor_below_target'),
        ),
    ]
