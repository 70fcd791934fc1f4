from importlib import import_module

from django.apps import AppConfig
from django.contrib.admin import apps as admin_apps


class ApiConfig(AppConfig):
    name = "api"
    default = True
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        """Have the checks known before a command starts."""
        import_module("api.checks")


class BackOfficeConfig(admin_apps.AdminConfig):
    """Put our own back office in the place of Django's."""

    default = False
    default_site = "api.back_office.BackOffice"
