"""The WSGI door for gunicorn: ``gunicorn api.wsgi``."""

import gc
import os

from django.conf import settings
from django.core.wsgi import get_wsgi_application

from api.shedding import Shedding

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "api.settings")

application = Shedding(
    get_wsgi_application(), at_once=settings.WEB_THREADS, waiting=settings.WEB_WAITING
)

# What stands now stands until the end: the collector need not look through it again and again.
gc.collect()
gc.freeze()
