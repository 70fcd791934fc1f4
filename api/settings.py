"""One file, top to bottom, all from the environment: a safe default or a refusal to start.

The names and defaults of all variables are listed in README.md. Development is the default;
``CYLINDERS_ENV=production`` turns the guards on and refuses whatever is not fit for the street.
"""

import sys
from pathlib import Path
from typing import Any

import django
from celery.schedules import crontab
from django.core.exceptions import ImproperlyConfigured

from api import environment, logs
from labels.qr import HostRefused, check_host

BASE_DIR = Path(__file__).resolve().parent.parent
VAR_DIR = Path(environment.text("VAR_DIR", str(BASE_DIR / "var")))
VAR_DIR.mkdir(parents=True, exist_ok=True)

# Where it runs
PRODUCTION = environment.one_of("CYLINDERS_ENV", ("development", "production")) == "production"
DEBUG = environment.flag("DEBUG")
SECRET_KEY = environment.secret_key(folder=VAR_DIR, production=PRODUCTION)
SECRET_KEY_FALLBACKS = environment.older_keys("SECRET_KEY_FALLBACKS", production=PRODUCTION)
PUBLIC_URL = environment.text("PUBLIC_URL", "http://127.0.0.1:8000").rstrip("/")
DEMO = environment.flag("CYLINDERS_DEMO")  # an invented shop with printed passwords
ALLOWED_HOSTS = environment.words("ALLOWED_HOSTS")
CSRF_TRUSTED_ORIGINS = environment.words("CSRF_TRUSTED_ORIGINS")

# The host in every tag's address: short, because it decides how large a symbol's modules can be.
TAG_HOST = environment.text("TAG_HOST", "CYL.EXAMPLE")
if "//" in TAG_HOST:
    raise ImproperlyConfigured(
        f"TAG_HOST={TAG_HOST!r}: write the bare host name; a tag always says https, never http."
    )
try:
    TAG_HOST = check_host(TAG_HOST)
except HostRefused as problem:
    raise ImproperlyConfigured(f"TAG_HOST: {problem}.") from problem

if PRODUCTION:
    if DEBUG:
        raise ImproperlyConfigured("DEBUG is on: it shows secrets to strangers. Leave it out.")
    if DEMO:
        raise ImproperlyConfigured("CYLINDERS_DEMO is on: its passwords are printed. Leave it out.")
    if not ALLOWED_HOSTS or "*" in ALLOWED_HOSTS:
        raise ImproperlyConfigured("ALLOWED_HOSTS is missing or open. Write the names you serve.")
    if not PUBLIC_URL.startswith("https://"):
        raise ImproperlyConfigured(f"PUBLIC_URL={PUBLIC_URL!r} must begin with https://.")
    if not environment.text("EMAIL_HOST"):
        raise ImproperlyConfigured("EMAIL_HOST is missing: reminders would be printed, not sent.")
    if TAG_HOST.endswith((".EXAMPLE", ".TEST", ".INVALID", ".LOCALHOST")):
        raise ImproperlyConfigured(
            f"TAG_HOST={TAG_HOST} is the demonstration's. Write your own: tags keep it for ever."
        )
else:
    _HERE = ["127.0.0.1", "localhost", "[::1]"]
    if DEBUG and not set(ALLOWED_HOSTS) <= set(_HERE):
        raise ImproperlyConfigured(
            f"DEBUG is on and ALLOWED_HOSTS={','.join(ALLOWED_HOSTS)}: debug pages show secrets, "
            "so they answer on this machine only. Leave one of the two out."
        )
    ALLOWED_HOSTS += _HERE

# What it is made of
INSTALLED_APPS = [
    "cylinders",
    "labels",
    "api",
    "rest_framework",
    "drf_spectacular",
    "api.apps.BackOfficeConfig",
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "django.contrib.staticfiles",
]
MIDDLEWARE = [
    "api.middleware.RequestIds",
    "api.middleware.SecurityHeaders",
    "django.middleware.security.SecurityMiddleware",
    "api.pages.status.strangers.Strangers",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "api.language.Chosen",
    "django.contrib.messages.middleware.MessageMiddleware",
    "api.looks.Looks",
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
                "api.middleware.nonce",
            ],
            "builtins": ["django.templatetags.i18n", "api.templatetags.wording"],
        },
    },
]

# Where it keeps things
DATABASES = {"default": environment.database(environment.text("DATABASE_URL"), folder=VAR_DIR)}
STATIC_URL = "/static/"
STATICFILES_DIRS = [BASE_DIR / "api" / "pages" / "static"]
STATIC_ROOT = VAR_DIR / "static"
STATIC_ROOT.mkdir(exist_ok=True)
STORAGES = {
    # Photos and papers: no address leads to them, only views that ask for rights.
    "default": environment.storage("FILE_STORAGE", folder=VAR_DIR / "files"),
    "staticfiles": {
        "BACKEND": "whitenoise.storage.CompressedManifestStaticFilesStorage"
        if PRODUCTION
        else "django.contrib.staticfiles.storage.StaticFilesStorage"
    },
}
WHITENOISE_USE_FINDERS = not PRODUCTION  # no collectstatic needed to try it out
REDIS_URL = environment.text("REDIS_URL")
CACHES: dict[str, Any] = {
    "default": {"BACKEND": "api.shared_cache.ForgivingCache", "LOCATION": REDIS_URL}
    if REDIS_URL
    else {
        "BACKEND": "django.core.cache.backends.filebased.FileBasedCache",
        "LOCATION": VAR_DIR / "cache",
    },
    # Pages for strangers, by what they follow from: each process may well keep its own.
    "pages": {
        "BACKEND": "django.core.cache.backends.locmem.LocMemCache",
        "LOCATION": "pages",
        "OPTIONS": {"MAX_ENTRIES": 2_000},  # some 7 kB each
    },
}

FILE_UPLOAD_HANDLERS = [
    "api.upload_bounds.Bounded",  # before the two that keep what passes it
    "django.core.files.uploadhandler.MemoryFileUploadHandler",
    "django.core.files.uploadhandler.TemporaryFileUploadHandler",
]

# How much of the machine `serve` takes
WEB_PROCESSES = environment.number("WEB_PROCESSES", 2)
WEB_THREADS = environment.number("WEB_THREADS", 4)
WEB_WAITING = environment.number("WEB_WAITING", 8)  # in each process; all others are told 503
WORKER_THREADS = environment.number("WORKER_THREADS", 4)

# Words, times, messages, logs
LANGUAGE_CODE = "en"
LANGUAGES = [("en", "English"), ("fr", "Français")]
LANGUAGE_COOKIE_NAME = "language"
LOCALE_PATHS = [BASE_DIR / "api" / "locale"]
USE_TZ = True
SHOP_TIME_ZONE = environment.time_zone("SHOP_TIME_ZONE", "UTC")
TIME_ZONE = SHOP_TIME_ZONE
SMTP = {
    "host": environment.text("EMAIL_HOST"),  # without one, mail is printed on the console
    "port": environment.number("EMAIL_PORT", 587),
    "username": environment.text("EMAIL_HOST_USER"),
    "password": environment.text("EMAIL_HOST_PASSWORD"),
    "use_tls": environment.flag("EMAIL_USE_TLS", default=True),
    "timeout": 15,  # seconds
}
MAIL = f"django.core.mail.backends.{'smtp' if SMTP['host'] else 'console'}.EmailBackend"
if django.VERSION >= (6, 1):  # there the names below are on their way out, and warn
    MAILERS = {"default": {"BACKEND": MAIL, "OPTIONS": SMTP if SMTP["host"] else {}}}
else:
    EMAIL_BACKEND = MAIL
    EMAIL_HOST, EMAIL_PORT, EMAIL_TIMEOUT = SMTP["host"], SMTP["port"], SMTP["timeout"]
    EMAIL_HOST_USER, EMAIL_HOST_PASSWORD = SMTP["username"], SMTP["password"]
    EMAIL_USE_TLS = SMTP["use_tls"]
DEFAULT_FROM_EMAIL = environment.text("EMAIL_FROM", "service@shop.example.org")
NOTICE_WRITER = "api.letters.write"  # puts a customer's messages into words
TEXT_WRITER = "api.texts.write"
TEXT_SENDER = environment.text("TEXT_SENDER")  # a class; without one no text message is sent
LOGGING = logs.configuration(
    form=environment.one_of(
        "LOG_FORMAT", ("text", "json") if sys.stderr.isatty() else ("json", "text")
    ),
    level=environment.one_of("LOG_LEVEL", ("INFO", "DEBUG", "WARNING", "ERROR")),
)

# Background work. The broker carries no truth: a lost message costs one sweep, never a reminder.
VISIBILITY = {"visibility_timeout": 120}  # seconds; with Redis it counts only if set in all places
CELERY_TIMEZONE = "UTC"
CELERY_TASK_SERIALIZER = "json"
CELERY_ACCEPT_CONTENT = ["json"]
CELERY_TASK_IGNORE_RESULT = True
CELERY_TASK_ACKS_LATE = True
CELERY_TASK_REJECT_ON_WORKER_LOST = True
CELERY_TASK_SOFT_TIME_LIMIT = 45
CELERY_TASK_TIME_LIMIT = 60
CELERY_WORKER_PREFETCH_MULTIPLIER = 1
CELERY_WORKER_SOFT_SHUTDOWN_TIMEOUT = 20
CELERY_BROKER_CONNECTION_RETRY_ON_STARTUP = True
CELERY_BEAT_SCHEDULE_FILENAME = str(VAR_DIR / "beat-schedule")
CELERY_IMPORTS = ["api.v1.tasks", "api.pages.once"]  # those that are in no app's tasks.py
EACH_MINUTE = (
    *("api.celery.tick", "cylinders.tasks.sweep", "api.tasks.go_on_with_batches"),
    *("api.tasks.make_calls", "api.tasks.tell_of_finds"),
    "api.tasks.note_what_must_not_come_back",
)
DAILY = {
    "api.v1.tasks.forget_old_answers": (3, 17),
    "api.pages.once.forget_old_forms": (3, 27),
    "cylinders.tasks.sweep_files": (3, 37),
    "api.tasks.forget_old_finds": (3, 47),
    "api.tasks.warn_of_numbers": (7, 7),
}
OFTEN = {"cylinders.tasks.keep_due_days": 15.0}  # seconds
CELERY_BEAT_SCHEDULE: dict[str, dict[str, Any]] = {
    **{name: {"task": name, "schedule": crontab()} for name in EACH_MINUTE},
    **{
        name: {"task": name, "schedule": crontab(hour=str(hour), minute=str(minute))}
        for name, (hour, minute) in DAILY.items()
    },
    **{
        name: {"task": name, "schedule": seconds, "options": {"expires": seconds}}
        for name, seconds in OFTEN.items()
    },
}
if REDIS_URL:
    CELERY_BROKER_URL = REDIS_URL
    CELERY_VISIBILITY_TIMEOUT = VISIBILITY["visibility_timeout"]
    CELERY_RESULT_BACKEND_TRANSPORT_OPTIONS = VISIBILITY
    CELERY_BROKER_TRANSPORT_OPTIONS: dict[str, Any] = {
        **VISIBILITY,
        "unacked_restore_interval": 5,  # seconds; the default gives lost work back after 100
        "unacked_restore_throttle": 1,
    }
else:
    QUEUE_DIR = VAR_DIR / "queue"
    QUEUE_DIR.mkdir(exist_ok=True)
    CELERY_BROKER_URL = "filesystem://localhost/"
    CELERY_BROKER_TRANSPORT_OPTIONS = {
        "data_folder_in": str(QUEUE_DIR),
        "data_folder_out": str(QUEUE_DIR),
        "control_folder": str(QUEUE_DIR / "control"),
        "polling_interval": 0.2,  # seconds; also how soon the worker hears that it should stop
    }

# Who may come in, and what a browser is told
LOGIN_URL = "/bench/login/"
LOGIN_REDIRECT_URL = "/bench/"
AUTH_PASSWORD_VALIDATORS = [
    {"NAME": f"django.contrib.auth.password_validation.{name}", "OPTIONS": options}
    for name, options in (
        ("UserAttributeSimilarityValidator", {}),
        ("MinimumLengthValidator", {"min_length": 12}),
        ("CommonPasswordValidator", {}),
        ("NumericPasswordValidator", {}),
    )
]
SESSION_COOKIE_NAME = "__Host-session" if PRODUCTION else "session"
SESSION_COOKIE_AGE = 12 * 60 * 60  # seconds from signing in: one day at the bench
SESSION_COOKIE_SECURE = PRODUCTION
SESSION_COOKIE_HTTPONLY = True
IDLE_MINUTES = environment.number("IDLE_MINUTES", 30)  # then a phone asks for the PIN
SESSION_COOKIE_SAMESITE = "Lax"
CSRF_COOKIE_NAME = "__Host-csrf" if PRODUCTION else "csrf"
CSRF_COOKIE_SECURE = PRODUCTION
CSRF_COOKIE_HTTPONLY = True  # scripts read the token from the page
CSRF_COOKIE_SAMESITE = "Lax"
SECURE_SSL_REDIRECT = PRODUCTION
SECURE_REDIRECT_EXEMPT = ["^(livez|readyz)$"]  # asked from inside, without https
SECURE_HSTS_SECONDS = 31_536_000 if PRODUCTION else 0  # one year
SECURE_HSTS_INCLUDE_SUBDOMAINS = PRODUCTION
SECURE_REFERRER_POLICY = "same-origin"
X_FRAME_OPTIONS = "DENY"
if environment.flag("BEHIND_PROXY"):  # only where a proxy sets this header itself
    SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https")
SILENCED_SYSTEM_CHECKS = ["security.W021"]  # preload lists are for the owner of the domain to join

# Label printers by name, as JSON; api/checks.py reads it at the start
PRINTERS = environment.text("PRINTERS", "")

# The labs' interface
LAB_REQUESTS_PER_MINUTE = environment.number("LAB_REQUESTS_PER_MINUTE", 1_200)  # for each key
REST_FRAMEWORK = {
    "DEFAULT_SCHEMA_CLASS": "drf_spectacular.openapi.AutoSchema",
    "DEFAULT_RENDERER_CLASSES": ["rest_framework.renderers.JSONRenderer"],
    "DEFAULT_PARSER_CLASSES": ["rest_framework.parsers.JSONParser"],
    "DEFAULT_PERMISSION_CLASSES": ["rest_framework.permissions.IsAuthenticated"],
    "DEFAULT_AUTHENTICATION_CLASSES": [],
}
SPECTACULAR_SETTINGS = {"TITLE": "Cylinder service", "VERSION": "1", "OAS_VERSION": "3.1.1"}
