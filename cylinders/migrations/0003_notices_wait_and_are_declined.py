"""Let a notice wait for a mail server, tell of a visit, be declined by its reader or be paused."""

import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('cylinders', '0002_history_is_append_only'),
    ]

    operations = [
        migrations.CreateModel(
            name='Declined',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('kind', models.CharField(choices=[('reminders', 'reminders of what is due'), ('visit', 'news of a cylinder in the shop')], max_length=12)),
                ('at', models.DateTimeField()),
            ],
        ),
        migrations.RemoveConstraint(
            model_name='notice',
            name='one_notice_per_duty_and_day',
        ),
        migrations.AddField(
            model_name='notice',
            name='not_before',
            field=models.DateTimeField(blank=True, null=True),
        ),
        migrations.AddField(
            model_name='notice',
            name='occasion',
            field=models.CharField(blank=True, max_length=24),
        ),
        migrations.AddField(
            model_name='shop',
            name='notice_days',
            field=models.JSONField(blank=True, default=dict),
        ),
        migrations.AddField(
            model_name='shop',
            name='notices_paused',
            field=models.BooleanField(default=False),
        ),
        migrations.AddIndex(
            model_name='notice',
            index=models.Index(fields=['customer', 'state'], name='notice_of_customer'),
        ),
        migrations.AddIndex(
            model_name='notice',
            index=models.Index(fields=['message_id'], name='notice_by_message'),
        ),
        migrations.AddConstraint(
            model_name='notice',
            constraint=models.UniqueConstraint(fields=('cylinder', 'duty', 'due', 'days_before', 'channel', 'occasion'), name='one_notice_per_duty_and_day'),
        ),
        migrations.AddField(
            model_name='declined',
            name='customer',
            field=models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='declined', to='cylinders.customer'),
        ),
        migrations.AddConstraint(
            model_name='declined',
            constraint=models.UniqueConstraint(fields=('customer', 'kind'), name='declined_once'),
        ),
    ]
