from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('accounts', '0001_initial'),
    ]

    operations = [
        migrations.AddField(
            model_name='sitesettings',
            name='form_factor_cone',
            field=models.FloatField(default=1.0),
        ),
        migrations.AddField(
            model_name='sitesettings',
            name='form_factor_pellet',
            field=models.FloatField(default=1.0),
        ),
        migrations.AddField(
            model_name='sitesettings',
            name='form_factor_plug',
            field=models.FloatField(default=1.0),
        ),
        migrations.AddField(
            model_name='sitesettings',
            name='transit_days',
            field=models.PositiveIntegerField(default=3),
        ),
        migrations.AddField(
            model_name='sitesettings',
            name='transit_temperature_c',
            field=models.FloatField(default=20.0),
        ),
        migrations.AddField(
            model_name='sitesettings',
            name='yeast_shelf_temperature_c',
            field=models.FloatField(default=5.0),
        ),
        migrations.AddConstraint(
            model_name='sitesettings',
            constraint=models.CheckConstraint(condition=models.Q(('form_factor_cone__gt', 0), ('form_factor_pellet__gt', 0), ('form_factor_plug__gt', 0)), name='site_settings_form_factors_positive'),
        ),
    ]
