"""The service's own settings, quiet: what is timed must not write to a terminal."""

from api.settings import *  # noqa: F403 - all of them, as the service has them
from api.settings import CACHES

LOGGING_CONFIG = None
EMAIL_BACKEND = "django.core.mail.backends.locmem.EmailBackend"
CACHES["default"] = {"BACKEND": "django.core.cache.backends.locmem.LocMemCache"}
