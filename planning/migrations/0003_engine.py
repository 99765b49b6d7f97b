import django.core.validators
import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('accounts', '__first__'),
        ('inventory', '0004_buying'),
        ('jobs', '0001_initial'),
        ('planning', '0002_science'),
        ('recipes', '0007_kit_planning'),
    ]

    operations = [
        migrations.CreateModel(
            name='DispatchZone',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('version', models.PositiveIntegerField(default=1)),
                ('code', models.CharField(max_length=20, unique=True, validators=[django.core.validators.RegexValidator('^[A-Z0-9][A-Z0-9-]{0,19}$', 'Write a code of 1 to 20 characters from A-Z, 0-9 and hyphen.')])),
                ('name', models.CharField(max_length=80)),
                ('transit_days', models.PositiveIntegerField(default=2)),
                ('ship_weekdays', models.CharField(default='0123456', max_length=7)),
                ('temperature_c', models.FloatField(default=15.0)),
                ('warm_temperature_c', models.FloatField(default=25.0)),
                ('warm_from', models.PositiveSmallIntegerField(blank=True, null=True)),
                ('warm_until', models.PositiveSmallIntegerField(blank=True, null=True)),
                ('ice_packs', models.PositiveSmallIntegerField(default=0)),
                ('active', models.BooleanField(default=True)),
                ('ice_item', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.item')),
            ],
            options={
                'ordering': ['code'],
                'constraints': [models.CheckConstraint(condition=models.Q(('ship_weekdays__regex', '^0?1?2?3?4?5?6?$'), models.Q(('ship_weekdays', ''), _negated=True)), name='zone_ships_on_a_day'), models.CheckConstraint(condition=models.Q(models.Q(('warm_from__isnull', True), ('warm_until__isnull', True)), models.Q(('warm_from__gte', 101), ('warm_from__lte', 1231), ('warm_until__gte', 101), ('warm_until__lte', 1231)), _connector='OR'), name='zone_season_whole'), models.CheckConstraint(condition=models.Q(('ice_packs', 0), ('ice_item__isnull', False), _connector='OR'), name='zone_ice_has_an_item')],
            },
        ),
        migrations.CreateModel(
            name='CustomerOrder',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('version', models.PositiveIntegerField(default=1)),
                ('code', models.CharField(max_length=20, unique=True, validators=[django.core.validators.RegexValidator('^[A-Z0-9][A-Z0-9-]{0,19}$', 'Write a code of 1 to 20 characters from A-Z, 0-9 and hyphen.')])),
                ('customer', models.CharField(max_length=120)),
                ('promised_on', models.DateField()),
                ('state', models.CharField(choices=[('open', 'Open'), ('dispatched', 'Dispatched'), ('cancelled', 'Cancelled')], default='open', max_length=10)),
                ('note', models.CharField(blank=True, default='', max_length=200)),
                ('zone', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='orders', to='planning.dispatchzone')),
            ],
            options={
                'ordering': ['promised_on', 'code'],
                'constraints': [models.CheckConstraint(condition=models.Q(('state__in', ['open', 'dispatched', 'cancelled'])), name='customer_order_state_known')],
            },
        ),
        migrations.CreateModel(
            name='OrderLine',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('position', models.PositiveSmallIntegerField()),
                ('crushed', models.BooleanField(default=True)),
                ('quantity', models.PositiveBigIntegerField()),
                ('dispatched', models.PositiveBigIntegerField(default=0)),
                ('price', models.PositiveBigIntegerField(default=0)),
                ('item', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.item')),
                ('kit', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='order_lines', to='recipes.kit')),
                ('order', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='lines', to='planning.customerorder')),
                ('yeast', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.item')),
            ],
            options={
                'ordering': ['order', 'position'],
                'constraints': [models.UniqueConstraint(fields=('order', 'position'), name='order_position_once'), models.CheckConstraint(condition=models.Q(('dispatched__lte', models.F('quantity')), ('quantity__gt', 0)), name='customer_line_quantity'), models.CheckConstraint(condition=models.Q(models.Q(('item__isnull', True), ('kit__isnull', False)), models.Q(('item__isnull', False), ('kit__isnull', True), ('yeast__isnull', True)), _connector='OR'), name='customer_line_kit_or_item')],
            },
        ),
        migrations.CreateModel(
            name='Dispatch',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('version', models.PositiveIntegerField(default=1)),
                ('code', models.CharField(max_length=20, unique=True, validators=[django.core.validators.RegexValidator('^[A-Z0-9][A-Z0-9-]{0,19}$', 'Write a code of 1 to 20 characters from A-Z, 0-9 and hyphen.')])),
                ('shipped_on', models.DateField()),
                ('arrives_on', models.DateField()),
                ('undone_at', models.DateTimeField(blank=True, null=True)),
                ('conversion', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, related_name='dispatch', to='inventory.conversion')),
                ('dispatched_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('order', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='dispatches', to='planning.customerorder')),
            ],
            options={
                'ordering': ['-shipped_on', '-code'],
            },
        ),
        migrations.CreateModel(
            name='DispatchBox',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('quantity', models.PositiveBigIntegerField()),
                ('brew_on', models.DateField(blank=True, null=True)),
                ('best_before_on', models.DateField(blank=True, null=True)),
                ('dispatch', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='boxes', to='planning.dispatch')),
                ('lot', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.lot')),
                ('line', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='boxes', to='planning.orderline')),
            ],
            options={
                'ordering': ['dispatch', 'id'],
                'constraints': [models.CheckConstraint(condition=models.Q(('quantity__gt', 0)), name='dispatch_box_positive')],
            },
        ),
        migrations.CreateModel(
            name='DispatchPart',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('key', models.CharField(max_length=24)),
                ('quantity', models.PositiveBigIntegerField()),
                ('crushed', models.BooleanField(default=False)),
                ('box', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='parts', to='planning.dispatchbox')),
                ('lot', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.lot')),
            ],
            options={
                'ordering': ['box', 'id'],
                'constraints': [models.UniqueConstraint(fields=('box', 'key', 'lot'), name='dispatch_part_once'), models.CheckConstraint(condition=models.Q(('quantity__gt', 0)), name='dispatch_part_positive')],
            },
        ),
        migrations.CreateModel(
            name='Plan',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('made_at', models.DateTimeField(auto_now_add=True)),
                ('as_of', models.DateField()),
                ('weeks', models.PositiveIntegerField()),
                ('note', models.CharField(blank=True, default='', max_length=200)),
                ('figures', models.JSONField(default=dict)),
                ('made_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'ordering': ['-id'],
            },
        ),
        migrations.CreateModel(
            name='PlannedOrder',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('quantity', models.PositiveBigIntegerField()),
                ('need_by', models.DateField()),
                ('order_by', models.DateField()),
                ('past_due', models.BooleanField(default=False)),
                ('cost', models.PositiveBigIntegerField(default=0)),
                ('pegs', models.JSONField(default=list)),
                ('item', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.item')),
                ('offer', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.supplieritem')),
                ('plan', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='orders', to='planning.plan')),
            ],
            options={
                'ordering': ['plan', 'need_by', 'id'],
                'constraints': [models.CheckConstraint(condition=models.Q(('quantity__gt', 0)), name='planned_order_positive')],
            },
        ),
        migrations.CreateModel(
            name='LotPlan',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('made_at', models.DateTimeField(auto_now_add=True)),
                ('until_on', models.DateField()),
                ('inputs', models.CharField(max_length=64)),
                ('status', models.CharField(max_length=24)),
                ('bound', models.FloatField(blank=True, null=True)),
                ('gap', models.FloatField(blank=True, null=True)),
                ('answer', models.JSONField(default=dict)),
                ('figures', models.JSONField(default=dict)),
                ('job', models.OneToOneField(blank=True, null=True, on_delete=django.db.models.deletion.SET_NULL, to='jobs.job')),
                ('made_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'ordering': ['-id'],
            },
        ),
        migrations.CreateModel(
            name='WhatIf',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('version', models.PositiveIntegerField(default=1)),
                ('name', models.CharField(max_length=80, unique=True)),
                ('note', models.CharField(blank=True, default='', max_length=200)),
            ],
            options={
                'ordering': ['name'],
            },
        ),
        migrations.CreateModel(
            name='WhatIfChange',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('kind', models.CharField(choices=[('demand', 'Demand for a kit'), ('lot_date', "A lot's best-before day"), ('lot_alpha', "A lot's alpha acid"), ('lead_time', "A supplier's lead time")], max_length=12)),
                ('about', models.BigIntegerField()),
                ('values', models.JSONField(default=dict)),
                ('what_if', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='changes', to='planning.whatif')),
            ],
            options={
                'ordering': ['what_if', 'id'],
                'constraints': [models.CheckConstraint(condition=models.Q(('kind__in', ['demand', 'lot_date', 'lot_alpha', 'lead_time'])), name='what_if_kind_known')],
            },
        ),
        migrations.CreateModel(
            name='Receipt',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('version', models.PositiveIntegerField(default=1)),
                ('code', models.CharField(max_length=20, unique=True, validators=[django.core.validators.RegexValidator('^[A-Z0-9][A-Z0-9-]{0,19}$', 'Write a code of 1 to 20 characters from A-Z, 0-9 and hyphen.')])),
                ('received_on', models.DateField()),
                ('delivery_note', models.CharField(blank=True, default='', max_length=40)),
                ('freight', models.PositiveBigIntegerField(default=0)),
                ('undone_at', models.DateTimeField(blank=True, null=True)),
                ('order', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='receipts', to='planning.purchaseorder')),
                ('received_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'ordering': ['code'],
            },
        ),
        migrations.CreateModel(
            name='ReceiptLine',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('quantity', models.PositiveBigIntegerField()),
                ('damaged', models.PositiveBigIntegerField(default=0)),
                ('damage', models.CharField(blank=True, default='', max_length=200)),
                ('price', models.PositiveBigIntegerField(default=0)),
                ('landed', models.PositiveBigIntegerField(default=0)),
                ('line', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='receipts', to='planning.purchaseline')),
                ('lot', models.OneToOneField(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, to='inventory.lot')),
                ('posting', models.OneToOneField(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, to='inventory.posting')),
                ('receipt', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='lines', to='planning.receipt')),
            ],
            options={
                'ordering': ['receipt', 'id'],
                'constraints': [models.CheckConstraint(condition=models.Q(('quantity__gt', 0), ('damaged__gt', 0), _connector='OR'), name='receipt_line_holds_something'), models.CheckConstraint(condition=models.Q(models.Q(('lot__isnull', True), ('quantity', 0)), models.Q(('lot__isnull', False), ('quantity__gt', 0)), _connector='OR'), name='receipt_line_has_its_lot')],
            },
        ),
        migrations.RemoveConstraint(
            model_name='purchaseorder',
            name='order_state_known',
        ),
        migrations.AddField(
            model_name='purchaseline',
            name='contract',
            field=models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='lines', to='inventory.contract'),
        ),
        migrations.AddField(
            model_name='purchaseline',
            name='ended',
            field=models.BooleanField(default=False),
        ),
        migrations.AddField(
            model_name='purchaseline',
            name='need_by',
            field=models.DateField(blank=True, null=True),
        ),
        migrations.AddField(
            model_name='purchaseline',
            name='offer',
            field=models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.supplieritem'),
        ),
        migrations.AddField(
            model_name='purchaseline',
            name='order_by',
            field=models.DateField(blank=True, null=True),
        ),
        migrations.AddField(
            model_name='purchaseline',
            name='pack_price',
            field=models.PositiveBigIntegerField(blank=True, null=True),
        ),
        migrations.AddField(
            model_name='purchaseline',
            name='pack_quantity',
            field=models.PositiveBigIntegerField(blank=True, null=True),
        ),
        migrations.AddField(
            model_name='purchaseline',
            name='runs',
            field=models.CharField(blank=True, default='', max_length=400),
        ),
        migrations.AddField(
            model_name='purchaseorder',
            name='note',
            field=models.CharField(blank=True, default='', max_length=200),
        ),
        migrations.AlterField(
            model_name='purchaseorder',
            name='state',
            field=models.CharField(choices=[('draft', 'Draft'), ('sent', 'Sent'), ('part', 'Part received'), ('closed', 'Closed'), ('cancelled', 'Cancelled')], default='sent', max_length=10),
        ),
        migrations.AddConstraint(
            model_name='purchaseline',
            constraint=models.CheckConstraint(condition=models.Q(('pack_quantity__isnull', True), ('pack_quantity__gt', 0), _connector='OR'), name='order_line_pack_positive'),
        ),
        migrations.AddConstraint(
            model_name='purchaseorder',
            constraint=models.CheckConstraint(condition=models.Q(('state__in', ['draft', 'sent', 'part', 'closed', 'cancelled'])), name='order_state_known'),
        ),
    ]
