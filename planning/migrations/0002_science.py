import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('planning', '0001_initial'),
        ('recipes', '0002_science'),
    ]

    operations = [
        migrations.AddField(
            model_name='allocation',
            name='minutes',
            field=models.PositiveIntegerField(blank=True, null=True),
        ),
        migrations.CreateModel(
            name='RunLineSubstitute',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('key', models.CharField(max_length=24)),
                ('run_line', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='substitutes', to='planning.runline')),
                ('substitute', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='recipes.kitbillsubstitute')),
            ],
            options={
                'ordering': ['run_line', 'key'],
                'constraints': [models.UniqueConstraint(fields=('run_line', 'key'), name='run_line_substitute_once')],
            },
        ),
    ]
