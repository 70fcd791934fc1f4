"""``manage.py demo``: the whole job on the invented scenario, then the same world served."""

import logging
import secrets
from argparse import ArgumentParser
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

from django.conf import settings
from django.contrib.auth.models import User
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from api import keys
from api.demo import scenario
from api.demo.job import Job
from api.demo.playing import play
from api.demo.report import Report
from api.demo.way_out import SERIALS
from cylinders.models import Cylinder, Lab
from cylinders.queries import verification
from labels import scanning

_PORT = 8000
_CAUTION = (
    "High-pressure gas and oxygen kill. This service advises and records; local codes, a licensed "
    "requalifier and a trained filler decide."
)


class Command(BaseCommand):
    help = "Play the whole job on an invented scenario, write var/demo/report.json, then serve."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--once", action="store_true", help="play and report, do not serve")
        parser.add_argument("--port", type=int, default=_PORT)

    def handle(self, *_args: Any, **options: Any) -> None:
        if settings.PRODUCTION:
            raise CommandError("The demonstration does not play in production.")
        call_command("migrate", verbosity=0)
        logging.disable(logging.INFO)  # the story is told here in sentences
        report = self._play(options["port"])
        logging.disable(logging.NOTSET)
        path = report.write()
        self._say_where(report, path)
        if not report.ok:
            raise CommandError(f"A step did not do what it should; see {path}.")
        if not options["once"]:
            call_command("serve", port=options["port"])

    def _play(self, port: int) -> Report:
        now = timezone.now()
        try:
            world = scenario.build(now=now)
        except scenario.NotTheDemonstration as problem:
            raise CommandError(str(problem)) from problem
        folder = Path(settings.VAR_DIR) / "demo"
        folder.mkdir(parents=True, exist_ok=True)
        report = Report(folder)
        report.accounts = self._accounts(world.lab)
        number = Cylinder.objects.filter(serial__startswith=SERIALS).count()
        self.stdout.write(_CAUTION)
        job = Job(
            world=world,
            key=report.accounts["lab"]["key"],
            number=number,
            now=now,
            folder=str(folder),
        )
        play(job, report, say=self.stdout.write)
        self._verify(report)
        base = f"http://127.0.0.1:{port}"
        report.addresses = {
            "bench": f"{base}/bench/",
            "status": f"{base}{urlsplit(job.status_address).path}",
            "api": f"{base}/api/v1/",
            "schema": f"{base}/api/v1/schema",
        }
        return report

    def _accounts(self, lab: Lab) -> dict[str, dict[str, str]]:
        accounts = {}
        for person in scenario.load()["staff"]:
            user = User.objects.get(username=person["username"])
            password = secrets.token_urlsafe(9)
            user.set_password(password)
            user.save(update_fields=["password"])
            accounts[person["role"]] = {"user": user.username, "password": password}
        for key in list(keys.live(lab_id=lab.pk, at=timezone.now())):
            keys.revoke(prefix=key.prefix, at=timezone.now())
        accounts["lab"] = {"key": keys.issue(lab_id=lab.pk, at=timezone.now()).text}
        return accounts

    def _verify(self, report: Report) -> None:
        found = verification.verify()
        problems = [*found.problems, *scanning.tag_problems()]
        says = f"{found.cylinders} cylinders, {found.events} events, {len(problems)} problems."
        done = report.step("verify", ok=not problems, says=says)
        self.stdout.write(f"{done.n:2}. {done.name}: {says}")

    def _say_where(self, report: Report, path: Path) -> None:
        self.stdout.write("")
        for name, address in report.addresses.items():
            self.stdout.write(f"{name:>12}: {address}")
        for role, account in report.accounts.items():
            words = ", ".join(f"{name} {value}" for name, value in account.items())
            self.stdout.write(f"{role:>12}: {words}")
        self.stdout.write(f"{'report':>12}: {path}")
