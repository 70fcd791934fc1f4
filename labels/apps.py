from django.apps import AppConfig


class LabelsConfig(AppConfig):
    name = "labels"
    default_auto_field = "django.db.models.BigAutoField"
