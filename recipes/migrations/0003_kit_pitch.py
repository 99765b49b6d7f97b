from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('recipes', '0002_science'),
    ]

    operations = [
        migrations.AddField(
            model_name='kit',
            name='floor_share',
            field=models.FloatField(blank=True, null=True),
        ),
        migrations.AddField(
            model_name='kit',
            name='target_share',
            field=models.FloatField(blank=True, null=True),
        ),
        migrations.AddConstraint(
            model_name='kit',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('floor_share__isnull', True), ('target_share__isnull', True)), models.Q(('floor_share__gt', 0), ('floor_share__isnull', False), ('target_share__gte', models.F('floor_share')), ('target_share__isnull', False)), _connector='OR'), name='kit_floor_below_target'),
        ),
    ]
