import django.core.validators
import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):

    initial = True

    dependencies = [
        ('inventory', '0001_initial'),
        ('recipes', '0001_initial'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name='PurchaseOrder',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('version', models.PositiveIntegerField(default=1)),
                ('code', models.CharField(max_length=20, unique=True, validators=[django.core.validators.RegexValidator('^[A-Z0-9][A-Z0-9-]{0,19}$', 'Write a code of 1 to 20 characters from A-Z, 0-9 and hyphen.')])),
                ('ordered_on', models.DateField()),
                ('state', models.CharField(choices=[('sent', 'Sent'), ('closed', 'Closed'), ('cancelled', 'Cancelled')], default='sent', max_length=10)),
                ('supplier', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='orders', to='inventory.supplier')),
            ],
            options={
                'ordering': ['code'],
            },
        ),
        migrations.CreateModel(
            name='PurchaseLine',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('quantity', models.PositiveBigIntegerField()),
                ('received', models.PositiveBigIntegerField(default=0)),
                ('due_on', models.DateField()),
                ('item', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.item')),
                ('order', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='lines', to='planning.purchaseorder')),
            ],
            options={
                'ordering': ['order', 'id'],
            },
        ),
        migrations.CreateModel(
            name='Run',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('version', models.PositiveIntegerField(default=1)),
                ('code', models.CharField(max_length=20, unique=True, validators=[django.core.validators.RegexValidator('^[A-Z0-9][A-Z0-9-]{0,19}$', 'Write a code of 1 to 20 characters from A-Z, 0-9 and hyphen.')])),
                ('pack_on', models.DateField()),
                ('state', models.CharField(choices=[('planned', 'Planned'), ('reserved', 'Reserved'), ('packing', 'Packing'), ('closed', 'Closed'), ('cancelled', 'Cancelled')], default='planned', max_length=10)),
                ('note', models.CharField(blank=True, default='', max_length=200)),
            ],
            options={
                'ordering': ['pack_on', 'code'],
                'constraints': [models.CheckConstraint(condition=models.Q(('state__in', ['planned', 'reserved', 'packing', 'closed', 'cancelled'])), name='run_state_known')],
            },
        ),
        migrations.CreateModel(
            name='RunLine',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('position', models.PositiveSmallIntegerField()),
                ('kits', models.PositiveIntegerField()),
                ('kit', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='run_lines', to='recipes.kit')),
                ('run', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='lines', to='planning.run')),
                ('yeast', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.item')),
            ],
            options={
                'ordering': ['run', 'position'],
            },
        ),
        migrations.CreateModel(
            name='Batch',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('version', models.PositiveIntegerField(default=1)),
                ('code', models.CharField(max_length=20, unique=True, validators=[django.core.validators.RegexValidator('^[A-Z0-9][A-Z0-9-]{0,19}$', 'Write a code of 1 to 20 characters from A-Z, 0-9 and hyphen.')])),
                ('number', models.PositiveSmallIntegerField()),
                ('kits', models.PositiveIntegerField()),
                ('brew_on', models.DateField()),
                ('state', models.CharField(choices=[('reserved', 'Reserved'), ('packed', 'Packed'), ('cancelled', 'Cancelled')], default='reserved', max_length=10)),
                ('packed_kits', models.PositiveIntegerField(blank=True, null=True)),
                ('conversion', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, related_name='batch', to='inventory.conversion')),
                ('run_line', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='batches', to='planning.runline')),
            ],
            options={
                'ordering': ['run_line', 'number'],
            },
        ),
        migrations.CreateModel(
            name='SheetRevision',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('number', models.PositiveSmallIntegerField()),
                ('content', models.JSONField()),
                ('digest', models.CharField(max_length=64)),
                ('previous_digest', models.CharField(blank=True, default='', max_length=64)),
                ('issued_at', models.DateTimeField(auto_now_add=True)),
                ('voided_at', models.DateTimeField(blank=True, null=True)),
                ('void_reason', models.CharField(blank=True, default='', max_length=200)),
                ('batch', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='sheets', to='planning.batch')),
                ('issued_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'ordering': ['batch', 'number'],
            },
        ),
        migrations.CreateModel(
            name='Allocation',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('per_kit', models.PositiveBigIntegerField()),
                ('quantity', models.PositiveBigIntegerField()),
                ('used', models.PositiveBigIntegerField(blank=True, null=True)),
                ('alpha', models.FloatField(blank=True, null=True)),
                ('current', models.BooleanField(default=True)),
                ('bill_line', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='recipes.kitbillline')),
                ('lot', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='allocations', to='inventory.lot')),
                ('reservation', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, related_name='allocation', to='inventory.reservation')),
                ('batch', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='allocations', to='planning.batch')),
            ],
            options={
                'ordering': ['batch', 'bill_line__position', 'id'],
                'constraints': [models.UniqueConstraint(condition=models.Q(('current', True)), fields=('batch', 'bill_line', 'lot'), name='allocation_once_per_lot'), models.CheckConstraint(condition=models.Q(('per_kit__gt', 0), ('quantity__gt', 0)), name='allocation_positive')],
            },
        ),
        migrations.CreateModel(
            name='Demand',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('wanted_on', models.DateField()),
                ('kits', models.PositiveIntegerField()),
                ('source', models.CharField(choices=[('order', 'Order'), ('forecast', 'Forecast')], default='forecast', max_length=8)),
                ('reference', models.CharField(blank=True, default='', max_length=40)),
                ('kit', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='demand', to='recipes.kit')),
            ],
            options={
                'ordering': ['wanted_on', 'kit'],
                'constraints': [models.UniqueConstraint(fields=('kit', 'wanted_on', 'source', 'reference'), name='demand_once'), models.CheckConstraint(condition=models.Q(('kits__gt', 0)), name='demand_positive')],
            },
        ),
        migrations.CreateModel(
            name='Proposal',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('batch_version', models.PositiveIntegerField()),
                ('cause', models.CharField(max_length=200)),
                ('rows', models.JSONField()),
                ('limits', models.JSONField(default=list)),
                ('fingerprint', models.CharField(max_length=64)),
                ('ibu_target', models.FloatField()),
                ('ibu_unchanged', models.FloatField()),
                ('ibu_corrected', models.FloatField()),
                ('ibu_spread', models.FloatField()),
                ('working', models.JSONField(default=dict)),
                ('state', models.CharField(choices=[('open', 'Open'), ('accepted', 'Accepted'), ('refused', 'Refused'), ('stale', 'Out of date')], default='open', max_length=10)),
                ('made_at', models.DateTimeField(auto_now_add=True)),
                ('decided_at', models.DateTimeField(blank=True, null=True)),
                ('decision_note', models.CharField(blank=True, default='', max_length=200)),
                ('batch', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='proposals', to='planning.batch')),
                ('decided_by', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'ordering': ['-id'],
                'constraints': [models.UniqueConstraint(condition=models.Q(('state', 'open')), fields=('batch',), name='proposal_one_open_per_batch'), models.CheckConstraint(condition=models.Q(('state__in', ['open', 'accepted', 'refused', 'stale'])), name='proposal_state_known')],
            },
        ),
        migrations.AddConstraint(
            model_name='purchaseorder',
            constraint=models.CheckConstraint(condition=models.Q(('state__in', ['sent', 'closed', 'cancelled'])), name='order_state_known'),
        ),
        migrations.AddConstraint(
            model_name='purchaseline',
            constraint=models.UniqueConstraint(fields=('order', 'item', 'due_on'), name='order_line_once'),
        ),
        migrations.AddConstraint(
            model_name='purchaseline',
            constraint=models.CheckConstraint(condition=models.Q(('quantity__gt', 0)), name='order_line_positive'),
        ),
        migrations.AddConstraint(
            model_name='runline',
            constraint=models.UniqueConstraint(fields=('run', 'kit'), name='run_line_kit_once'),
        ),
        migrations.AddConstraint(
            model_name='runline',
            constraint=models.CheckConstraint(condition=models.Q(('kits__gt', 0)), name='run_line_positive'),
        ),
        migrations.AddConstraint(
            model_name='batch',
            constraint=models.CheckConstraint(condition=models.Q(('kits__gt', 0)), name='batch_positive'),
        ),
        migrations.AddConstraint(
            model_name='batch',
            constraint=models.CheckConstraint(condition=models.Q(('state__in', ['reserved', 'packed', 'cancelled'])), name='batch_state_known'),
        ),
        migrations.AddConstraint(
            model_name='sheetrevision',
            constraint=models.UniqueConstraint(fields=('batch', 'number'), name='sheet_number_once'),
        ),
        migrations.AddConstraint(
            model_name='sheetrevision',
            constraint=models.UniqueConstraint(condition=models.Q(('voided_at__isnull', True)), fields=('batch',), name='sheet_one_open_per_batch'),
        ),
    ]
