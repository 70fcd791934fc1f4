from django.apps import AppConfig


class CylindersConfig(AppConfig):
    name = "cylinders"
    default_auto_field = "django.db.models.BigAutoField"
