from importlib import import_module

from django.apps import AppConfig


class ApiConfig(AppConfig):
    name = "api"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        """Have the checks known before a command starts."""
        import_module("api.checks")
