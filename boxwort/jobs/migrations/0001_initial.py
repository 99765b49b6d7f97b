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
            name='Job',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('name', models.CharField(max_length=64)),
                ('key', models.CharField(max_length=120)),
                ('arguments', models.JSONField(default=dict)),
                ('state', models.CharField(choices=[('queued', 'Waiting'), ('running', 'Running'), ('done', 'Done'), ('failed', 'Failed'), ('cancelled', 'Cancelled'), ('joined', 'Joined to another')], default='queued', max_length=10)),
                ('asked_at', models.DateTimeField(auto_now_add=True)),
                ('not_before', models.DateTimeField(blank=True, null=True)),
                ('published_at', models.DateTimeField(blank=True, null=True)),
                ('started_at', models.DateTimeField(blank=True, null=True)),
                ('ended_at', models.DateTimeField(blank=True, null=True)),
                ('attempts', models.PositiveSmallIntegerField(default=0)),
                ('most_attempts', models.PositiveSmallIntegerField(default=3)),
                ('token', models.CharField(blank=True, default='', max_length=32)),
                ('lease_until', models.DateTimeField(blank=True, null=True)),
                ('cancel_asked', models.BooleanField(default=False)),
                ('progress', models.PositiveIntegerField(default=0)),
                ('total', models.PositiveIntegerField(default=0)),
                ('stage', models.CharField(blank=True, default='', max_length=120)),
                ('result', models.JSONField(default=dict)),
                ('error', models.TextField(blank=True, default='')),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('joined_to', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, to='jobs.job')),
            ],
            options={
                'ordering': ['-id'],
                'indexes': [models.Index(fields=['state', 'not_before'], name='job_waiting'), models.Index(fields=['name', 'key', 'state'], name='job_key')],
            },
        ),
    ]
