"""The back office: people and houses. What has a history is changed at the bench alone."""

from typing import Any, ClassVar

from django.contrib import admin
from django.db import models

from cylinders.models import Customer, Lab, Shop

admin.site.register([Customer, Lab])


@admin.register(Shop)
class ShopAdmin(admin.ModelAdmin):  # type: ignore[type-arg] # generic for the checker alone
    """The shop; an address typed without its scheme means https."""

    formfield_overrides: ClassVar[dict[Any, dict[str, Any]]] = {
        models.URLField: {"assume_scheme": "https"}
    }
