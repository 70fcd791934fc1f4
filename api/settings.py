"""One file, top to bottom, all from the environment: a safe default or a refusal to start.

The names and defaults of all variables are listed in README.md. Development is the default;
``CYLINDERS_ENV=production`` turns the guards on and refuses whatever is not fit for the street.
"""

from pathlib import Path
from typing import Any

from django.core.exceptions import ImproperlyConfigured

from api import environment

BASE_DIR = Path(__file__).resolve().parent.parent
VAR_DIR = Path(environment.text("VAR_DIR", str(BASE_DIR / "var")))
VAR_DIR.mkdir(parents=True, exist_ok=True)

# Where it runs
PRODUCTION = environment.one_of("CYLINDERS_ENV", ("development", "production")) == "production"
DEBUG = environment.flag("DEBUG")
SECRET_KEY = environment.secret_key(folder=VAR_DIR, production=PRODUCTION)
SECRET_KEY_FALLBACKS = environment.words("SECRET_KEY_FALLBACKS")
PUBLIC_URL = environment.text("PUBLIC_URL", "http://127.0.0.1:8000").rstrip("/")
TAG_HOST = environment.text("TAG_HOST", "CYL.EXAMPLE").upper()
ALLOWED_HOSTS = environment.words("ALLOWED_HOSTS")

if "/" in TAG_HOST or ":" in TAG_HOST:
    raise ImproperlyConfigured(
        f"TAG_HOST={TAG_HOST!r} is not a bare host name. Tags always say https://; leave it out."
    )
if PRODUCTION:
    if DEBUG:
        raise ImproperlyConfigured("DEBUG is on: it shows secrets to strangers. Leave it out.")
    if not ALLOWED_HOSTS or "*" in ALLOWED_HOSTS:
        raise ImproperlyConfigured("ALLOWED_HOSTS is missing or open. Write the names you serve.")
    if not PUBLIC_URL.startswith("https://"):
        raise ImproperlyConfigured(f"PUBLIC_URL={PUBLIC_URL!r} must begin with https://.")
    if TAG_HOST.endswith((".EXAMPLE", ".TEST", ".INVALID", ".LOCALHOST")):
        raise ImproperlyConfigured(
            f"TAG_HOST={TAG_HOST} is the demonstration's. Write your own: tags keep it for ever."
        )
else:
    ALLOWED_HOSTS += ["127.0.0.1", "localhost", "[::1]"]

# What it is made of
INSTALLED_APPS = [
    "cylinders",
    "labels",
    "api",
    "rest_framework",
    "drf_spectacular",
    "django.contrib.admin",
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "django.contrib.staticfiles",
]
MIDDLEWARE = [
    "django.middleware.security.SecurityMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.locale.LocaleMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
]
ROOT_URLCONF = "api.urls"
WSGI_APPLICATION = "api.wsgi.application"
FIXTURE_DIRS = [BASE_DIR / "fixtures"]
TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "DIRS": [BASE_DIR / "api" / "pages" / "templates"],
        "APP_DIRS": True,
        "OPTIONS": {
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.auth.context_processors.auth",
                "django.contrib.messages.context_processors.messages",
            ],
        },
    },
]

# Where it keeps things
DATABASES = {"default": environment.database(environment.text("DATABASE_URL"), folder=VAR_DIR)}
STATIC_URL = "/static/"
STATIC_ROOT = VAR_DIR / "static"
STATICFILES_DIRS: list[Path] = []
MEDIA_ROOT = VAR_DIR / "media"
STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.FileSystemStorage"},
    "staticfiles": {
        "BACKEND": "whitenoise.storage.CompressedManifestStaticFilesStorage"
        if PRODUCTION
        else "django.contrib.staticfiles.storage.StaticFilesStorage"
    },
}
WHITENOISE_USE_FINDERS = not PRODUCTION  # no collectstatic needed to try it out

# Words and times
LANGUAGE_CODE = "en"
LANGUAGES = [("en", "English")]
USE_TZ = True
SHOP_TIME_ZONE = environment.time_zone("SHOP_TIME_ZONE", "UTC")
TIME_ZONE = SHOP_TIME_ZONE

# Background work
REDIS_URL = environment.text("REDIS_URL")
CELERY_TIMEZONE = "UTC"
CELERY_TASK_IGNORE_RESULT = True
CELERY_BEAT_SCHEDULE: dict[str, Any] = {
    "sweep": {"task": "cylinders.tasks.sweep", "schedule": 60.0},
}
if REDIS_URL:
    CELERY_BROKER_URL = REDIS_URL
else:
    QUEUE_DIR = VAR_DIR / "queue"
    QUEUE_DIR.mkdir(exist_ok=True)
    CELERY_BROKER_URL = "filesystem://"
    CELERY_BROKER_TRANSPORT_OPTIONS: dict[str, Any] = {
        "data_folder_in": str(QUEUE_DIR),
        "data_folder_out": str(QUEUE_DIR),
        "control_folder": str(QUEUE_DIR / "control"),
    }

# Who may come in
LOGIN_URL = "/bench/login/"

REST_FRAMEWORK = {
    "DEFAULT_SCHEMA_CLASS": "drf_spectacular.openapi.AutoSchema",
    "DEFAULT_RENDERER_CLASSES": ["rest_framework.renderers.JSONRenderer"],
    "DEFAULT_PARSER_CLASSES": ["rest_framework.parsers.JSONParser"],
    "DEFAULT_PERMISSION_CLASSES": ["rest_framework.permissions.IsAuthenticated"],
    "DEFAULT_AUTHENTICATION_CLASSES": [],
}
SPECTACULAR_SETTINGS = {"TITLE": "Cylinder service", "VERSION": "1", "OAS_VERSION": "3.1.1"}
