from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('inventory', '0004_buying'),
        ('recipes', '0006_heavy_bottles'),
    ]

    operations = [
        migrations.AddField(
            model_name='kit',
            name='contents',
            field=models.CharField(choices=[('kit', 'Whole kit'), ('hop_pack', 'Hop pack')], default='kit', max_length=8),
        ),
        migrations.AddField(
            model_name='kit',
            name='first_pack_on',
            field=models.DateField(blank=True, null=True),
        ),
        migrations.AddField(
            model_name='kit',
            name='grain_part',
            field=models.CharField(choices=[('packed', 'Packed to stock'), ('dispatch', 'Added at dispatch')], default='packed', max_length=8),
        ),
        migrations.AddField(
            model_name='kit',
            name='last_pack_on',
            field=models.DateField(blank=True, null=True),
        ),
        migrations.AddField(
            model_name='kit',
            name='last_sale_on',
            field=models.DateField(blank=True, null=True),
        ),
        migrations.AddField(
            model_name='kit',
            name='minimum_kits',
            field=models.PositiveIntegerField(default=1),
        ),
        migrations.AddField(
            model_name='kit',
            name='multiple_kits',
            field=models.PositiveIntegerField(default=1),
        ),
        migrations.AddConstraint(
            model_name='kit',
            constraint=models.CheckConstraint(condition=models.Q(('contents__in', ['kit', 'hop_pack']), ('minimum_kits__gt', 0), ('multiple_kits__gt', 0)), name='kit_runs_possible'),
        ),
        migrations.AddConstraint(
            model_name='kit',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('first_pack_on__isnull', True), ('last_pack_on__isnull', True), ('last_pack_on__gte', models.F('first_pack_on')), _connector='OR'), models.Q(('last_pack_on__isnull', True), ('last_sale_on__isnull', True), ('last_sale_on__gte', models.F('last_pack_on')), _connector='OR')), name='kit_dates_in_order'),
        ),
    ]
