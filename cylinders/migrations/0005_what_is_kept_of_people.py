"""Keep who looked at whom, who agreed to what, and when a person was erased."""

import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('cylinders', '0004_figures_of_the_owner'),
    ]

    operations = [
        migrations.AddField(
            model_name='customer',
            name='erased_at',
            field=models.DateTimeField(blank=True, null=True),
        ),
        migrations.CreateModel(
            name='Consent',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('channel', models.CharField(default='email', max_length=8)),
                ('given', models.BooleanField()),
                ('wording', models.TextField()),
                ('at', models.DateTimeField()),
                ('by', models.CharField(max_length=40)),
                ('customer', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='consents', to='cylinders.customer')),
            ],
        ),
        migrations.CreateModel(
            name='PersonLog',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('kind', models.CharField(choices=[('looked', 'looked'), ('changed', 'changed'), ('exported', 'handed out'), ('erased', 'erased')], max_length=8)),
                ('at', models.DateTimeField()),
                ('by', models.CharField(max_length=40)),
                ('where', models.CharField(blank=True, max_length=200)),
                ('customer', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='log', to='cylinders.customer')),
            ],
            options={
                'indexes': [models.Index(fields=['customer', 'at'], name='person_log_by_customer')],
            },
        ),
    ]
