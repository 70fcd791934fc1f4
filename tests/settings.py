"""The service's own settings with what a test run changes, and nothing else."""

import atexit
import os
import shutil
import tempfile

# Each run keeps its files in a folder of its own: two runs side by side never meet.
_FOLDER = tempfile.mkdtemp(prefix="cylinders-test-")
atexit.register(shutil.rmtree, _FOLDER, ignore_errors=True)
os.environ["VAR_DIR"] = _FOLDER
for name in ("CYLINDERS_ENV", "DEBUG", "REDIS_URL", "PUBLIC_URL", "TAG_HOST", "ALLOWED_HOSTS"):
    os.environ.pop(name, None)

from api.settings import *  # noqa: E402, F403 - the environment above must be set first
from api.settings import DATABASES  # noqa: E402 - the same

PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
EMAIL_BACKEND = "django.core.mail.backends.locmem.EmailBackend"
CELERY_TASK_ALWAYS_EAGER = True
CELERY_TASK_EAGER_PROPAGATES = True
if "sqlite" in DATABASES["default"]["ENGINE"]:
    # A file, not memory: tests with two threads need two connections to one database.
    DATABASES["default"]["TEST"] = {"NAME": os.path.join(_FOLDER, "test.sqlite3")}  # noqa: PTH118 - Django wants text here
