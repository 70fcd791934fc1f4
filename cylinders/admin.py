"""The owner's back office: people and houses. What has a history is changed at the bench alone."""

from django.contrib import admin

from cylinders.models import Customer, Lab, Shop

admin.site.register([Shop, Customer, Lab])
