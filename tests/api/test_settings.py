"""Production starts only when it is fit for the street; each refusal says why.

OWASP ASVS 5.0.0: V13.4.2 (debug off), V13.3.1 (secrets), V3.3.1 to V3.3.4 (cookies), V3.4.1 (HSTS).
"""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
FIT = {
    "CYLINDERS_ENV": "production",
    "SECRET_KEY": "kq3Jd0bXnq8vTzY1mW4kLrA9sHf6PpUe2GcVtNiMoRyZxB7wQ5",
    "ALLOWED_HOSTS": "shop.example.org",
    "PUBLIC_URL": "https://shop.example.org",
    "TAG_HOST": "t.example.org",
    "EMAIL_HOST": "mail.example.org",
}
ASK = """
import json
from api import settings as s
print(json.dumps([s.SESSION_COOKIE_NAME, s.CSRF_COOKIE_NAME, s.SESSION_COOKIE_SECURE,
                  s.CSRF_COOKIE_SECURE, s.SECURE_HSTS_SECONDS, s.SECURE_SSL_REDIRECT]))
"""


def start(folder: Path, *command: str, **changes: str) -> "subprocess.CompletedProcess[str]":
    env = {"PATH": os.defpath, "VAR_DIR": str(folder), **FIT, **changes}
    return subprocess.run(
        [sys.executable, *command], cwd=ROOT, env=env, capture_output=True, text=True, check=False
    )


def test_a_fit_production_passes_the_deployment_checks(tmp_path: Path) -> None:
    ran = start(tmp_path, "manage.py", "check", "--deploy", "--fail-level", "WARNING")
    assert ran.returncode == 0, ran.stderr


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"DEBUG": "1"}, "DEBUG is on"),
        ({"CYLINDERS_DEMO": "1"}, "CYLINDERS_DEMO is on"),
        ({"SECRET_KEY": ""}, "SECRET_KEY is missing"),
        ({"SECRET_KEY": "short"}, "SECRET_KEY is short"),
        ({"SECRET_KEY": "django-insecure-" + "Xy7_k" * 20}, "SECRET_KEY is short or an example"),
        ({"SECRET_KEY": "demo-" + "Xy7_k" * 20}, "SECRET_KEY is short or an example"),
        ({"SECRET_KEY_FALLBACKS": "old"}, "SECRET_KEY_FALLBACKS holds a key that is short"),
        ({"ALLOWED_HOSTS": ""}, "ALLOWED_HOSTS is missing or open"),
        ({"ALLOWED_HOSTS": "shop.example.org,*"}, "ALLOWED_HOSTS is missing or open"),
        ({"PUBLIC_URL": "http://shop.example.org"}, "must begin with https"),
        ({"EMAIL_HOST": ""}, "EMAIL_HOST is missing"),
        ({"TAG_HOST": "http://t.example.org"}, "always says https, never http"),
        ({"TAG_HOST": ""}, "is the demonstration's"),
        ({"TAG_HOST": "a-name-too-long-for-a-tag.example.org"}, "needs a larger symbol"),
        ({"CYLINDERS_ENV": "prod"}, "development or production"),
        ({"CYLINDERS_ENV": "", "DEBUG": "1"}, "DEBUG is on and ALLOWED_HOSTS=shop.example.org"),
        ({"CYLINDERS_ENV": "", "DEBUG": "1", "ALLOWED_HOSTS": "*"}, "DEBUG is on and"),
    ],
)
@pytest.mark.sampled(of=4)
def test_an_unfit_production_is_refused(change: dict[str, str], said: str, tmp_path: Path) -> None:
    ran = start(tmp_path, "-c", "import api.settings", **change)
    assert ran.returncode != 0
    assert said in ran.stderr
    assert "ImproperlyConfigured" in ran.stderr


def test_production_cookies_and_transport_are_closed(tmp_path: Path) -> None:
    ran = start(tmp_path, "-c", ASK)
    session, csrf, *secure, seconds, redirect = json.loads(ran.stdout)
    assert session.startswith("__Host-")
    assert csrf.startswith("__Host-")
    assert secure == [True, True]
    assert seconds == 31_536_000
    assert redirect is True


def test_a_first_start_in_development_needs_nothing_set(tmp_path: Path) -> None:
    nothing = dict.fromkeys(FIT, "")
    ran = start(tmp_path, "manage.py", "check", **nothing)
    assert ran.returncode == 0, ran.stderr
    assert (tmp_path / "secret_key").is_file()
