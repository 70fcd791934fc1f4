"""The WSGI door for gunicorn: ``gunicorn api.wsgi``."""

import os

from django.conf import settings
from django.core.wsgi import get_wsgi_application

from api.collector import settle_down
from api.shedding import Shedding

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "api.settings")

application = Shedding(
    get_wsgi_application(), at_once=settings.WEB_THREADS, waiting=settings.WEB_WAITING
)
settle_down()
