from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('accounts', '0003_starter'),
    ]

    operations = [
        migrations.AddField(
            model_name='sitesettings',
            name='most_multiple',
            field=models.FloatField(default=2.0),
        ),
        migrations.AddField(
            model_name='sitesettings',
            name='priming_rule',
            field=models.CharField(choices=[('stoichiometry', 'Stoichiometry: every molecule of sugar counts'), ('brewing_text', 'Brewing texts: 8 % less sugar')], default='stoichiometry', max_length=16),
        ),
        migrations.AddConstraint(
            model_name='sitesettings',
            constraint=models.CheckConstraint(condition=models.Q(('most_multiple__gte', 1)), name='site_settings_most_at_least_once'),
        ),
    ]
