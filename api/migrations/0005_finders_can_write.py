"""Let whoever found a tagged thing write to the shop."""

from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('api', '0004_a_phone_is_opened_by_a_pin'),
    ]

    operations = [
        migrations.CreateModel(
            name='FoundMessage',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('code', models.CharField(max_length=13)),
                ('text', models.TextField()),
                ('reply_to', models.CharField(blank=True, max_length=200)),
                ('at', models.DateTimeField()),
                ('handled_at', models.DateTimeField(blank=True, null=True)),
            ],
            options={
                'indexes': [models.Index(fields=['handled_at', 'at'], name='found_message_open')],
            },
        ),
    ]
