from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('recipes', '0005_typed_methods'),
    ]

    operations = [
        migrations.AddField(
            model_name='method',
            name='heavy_bottles',
            field=models.BooleanField(default=False),
        ),
    ]
