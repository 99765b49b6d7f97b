from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('accounts', '0004_house_choices'),
    ]

    operations = [
        migrations.CreateModel(
            name='DayOff',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('on', models.DateField(unique=True)),
                ('name', models.CharField(blank=True, default='', max_length=80)),
            ],
            options={
                'ordering': ['on'],
            },
        ),
        migrations.AddField(
            model_name='sitesettings',
            name='consume_back_weeks',
            field=models.PositiveIntegerField(default=0),
        ),
        migrations.AddField(
            model_name='sitesettings',
            name='consume_forward_weeks',
            field=models.PositiveIntegerField(default=0),
        ),
        migrations.AddField(
            model_name='sitesettings',
            name='forecast_spread',
            field=models.FloatField(default=0.3),
        ),
        migrations.AddField(
            model_name='sitesettings',
            name='holding_share',
            field=models.FloatField(default=0.2),
        ),
        migrations.AddField(
            model_name='sitesettings',
            name='horizon_weeks',
            field=models.PositiveIntegerField(default=26),
        ),
        migrations.AddField(
            model_name='sitesettings',
            name='kits_per_day',
            field=models.PositiveIntegerField(blank=True, null=True),
        ),
        migrations.AddField(
            model_name='sitesettings',
            name='pack_lead_days',
            field=models.PositiveIntegerField(default=0),
        ),
        migrations.AddField(
            model_name='sitesettings',
            name='slow_days',
            field=models.PositiveIntegerField(default=120),
        ),
        migrations.AddField(
            model_name='sitesettings',
            name='working_weekdays',
            field=models.CharField(default='0123456', max_length=7),
        ),
        migrations.AddConstraint(
            model_name='sitesettings',
            constraint=models.CheckConstraint(condition=models.Q(('working_weekdays__regex', '^0?1?2?3?4?5?6?$'), ('horizon_weeks__gte', 1), ('horizon_weeks__lte', 104), ('forecast_spread__gte', 0), ('holding_share__gte', 0)), name='site_settings_planning_possible'),
        ),
    ]
