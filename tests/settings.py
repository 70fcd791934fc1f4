"""The service's own settings with what a test run changes, and nothing else.

TEST_ENGINE=postgresql runs on PostgreSQL: the one at TEST_DATABASE_URL, or one started here, since
Django must know the address before the first test. Everything else runs on SQLite.
"""

import atexit
import os
import shutil
import tempfile

from tests import servers

TEST_ENGINE = os.environ.get("TEST_ENGINE", "sqlite")
NO_SERVER = ""  # why there is no PostgreSQL, where one was asked for

# Each run keeps its files in a folder of its own: two runs side by side never meet.
_FOLDER = tempfile.mkdtemp(prefix="cylinders-test-")
atexit.register(shutil.rmtree, _FOLDER, ignore_errors=True)

# A developer's own environment must not change what is tested.
for _name in (
    *("CYLINDERS_ENV", "CYLINDERS_DEMO", "DEBUG", "SECRET_KEY", "DATABASE_URL", "REDIS_URL"),
    *("PUBLIC_URL", "TAG_HOST", "ALLOWED_HOSTS", "SHOP_TIME_ZONE", "EMAIL_HOST", "BEHIND_PROXY"),
):
    os.environ.pop(_name, None)
os.environ["VAR_DIR"] = _FOLDER
if TEST_ENGINE == "postgresql":
    try:
        os.environ["DATABASE_URL"] = os.environ.get("TEST_DATABASE_URL") or servers.postgresql().url
    except servers.NoServer as missing:
        if servers.required():
            raise
        NO_SERVER = str(missing)

from api.settings import *  # noqa: E402, F403 - reads the environment set above
from api.settings import CACHES, DATABASES  # noqa: E402 - the same

PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]  # fast, and only here
CACHES["default"] = {"BACKEND": "django.core.cache.backends.locmem.LocMemCache"}
CELERY_TASK_ALWAYS_EAGER = True
CELERY_TASK_EAGER_PROPAGATES = True
if TEST_ENGINE == "sqlite":
    # A file, not memory: tests with two threads need two connections to one database.
    DATABASES["default"]["TEST"] = {"NAME": f"{_FOLDER}/test.sqlite3"}
    # No test waits for the disk; those that kill a server run it with the service's own settings.
    DATABASES["default"]["OPTIONS"]["init_command"] = (
        "PRAGMA journal_mode=WAL; PRAGMA synchronous=OFF;"
    )
