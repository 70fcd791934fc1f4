"""A shop in which every page has something to show, and the address of each page and state."""

import json
import re
from dataclasses import dataclass

from django.conf import settings
from django.contrib.auth.models import User
from django.utils import timezone

from api import keys
from api.batches import running
from api.demo import scenario, way_home, way_out
from api.demo.job import Job
from api.models import BatchLine
from api.photos import judged
from api.problems import PROBLEMS
from cylinders.models import Consignment, ConsignmentLine, Cylinder, TestRecord, WorkOrder
from cylinders.operations import filing, inspection
from cylinders.rules.stages import Stage
from labels.models import PrintRun, Tag, TagKind, TagState
from labels.operations import binding, minting, runs
from labels.operations.binding import Thing
from tests import files, makers

TWO_READINGS = "DOT-3AL3000\nKX40300\nM9999\n06-08\n1/8 207"


def photographed(job: Job) -> None:
    """Two photos of the cylinder, one of them for its owner."""
    photos = [filing.keep(judged(files.photo(text)).content, at=job.now) for text in ("A", "B")]
    filing.add_photos(
        cylinder_id=job.order.cylinder_id,
        files=[photo.pk for photo in photos],
        shows="stamp",
        at=job.now,
        by=job.world.by,
    )
    shown = job.order.cylinder.attachments.earliest("pk").pk
    filing.show_to_owner(
        cylinder_id=job.order.cylinder_id, chosen=[shown], at=job.now, by=job.world.by
    )


@dataclass
class Shop:
    """The invented shop with one job carried to where its parts are fitted."""

    user: User
    job: Job

    @classmethod
    def build(cls, folder: str) -> "Shop":
        """Play it."""
        now = timezone.now()
        world = scenario.build(now=now)
        key = keys.issue(lab_id=world.lab.pk, at=now).text
        job = Job(world=world, key=key, number=0, now=now, folder=folder)
        for step in (
            way_out.intake,
            way_out.teardown_and_tags,
            way_out.dispatch,
            way_out.at_the_lab,
            way_home.home_again,
            way_home.inspection,
        ):
            told = step(job)
            assert told.ok, told.says
        photographed(job)
        return cls(world.technician, job)

    def bench(self) -> dict[str, str]:
        """Every page of a member of staff, by name."""
        own = self.job.order.pk
        line = Consignment.objects.filter(sent_at__isnull=False).latest("pk")
        valve = self.job.order.parts.get(kind="valve")
        boot = self.job.order.parts.get(kind="boot")
        out = Cylinder.objects.exclude(work_orders__closed_at__isnull=True).first()
        assert out is not None
        record = TestRecord.objects.latest("pk")
        parts = {"order": f"/bench/orders/{own}/", "lab": f"/bench/runs/to/{line.lab_id}/"}
        return {
            "board": "/bench/",
            "me": "/bench/me/",
            "figures": "/bench/figures/",
            "webhooks": "/bench/webhooks/",
            "scan": "/bench/scan/",
            "scan-misread": f"/bench/scan/?code={_misread(self.job.tag.code)}",
            "scan-foreign": "/bench/scan/?code=https://elsewhere.test/t/7K2M9QX4WBTCK",
            "scan-blank": f"/bench/scan/?code={self.blank().code}",
            "scan-retired": f"/bench/scan/?code={self.retired().code}",
            "camera": "/bench/scan/camera/",
            "fit-camera": f"/bench/orders/{own}/reassembly/camera/",
            "pack-camera": f"/bench/runs/to/{line.lab_id}/camera/",
            "in-camera": "/bench/runs/in/camera/",
            "bind-camera": f"/bench/cylinders/{out.pk}/camera/",
            "find": "/bench/find/?q=KX",
            "due": "/bench/due/?within=90",
            "months": "/bench/due/months/",
            "wall": "/bench/wall/",
            "intake": "/bench/intake/",
            "intake-read": f"/bench/intake/?stamp={_quoted(TWO_READINGS)}",
            "tag": f"/bench/tags/{self.job.tag.code}/",
            "tag-bag": f"/bench/tags/{Tag.objects.get(part=valve).code}/",
            "cylinder": f"/bench/cylinders/{self.job.order.cylinder_id}/",
            "owner-links": f"/bench/cylinders/{self.job.order.cylinder_id}/links/",
            "photos": f"/bench/cylinders/{self.job.order.cylinder_id}/photos/",
            "inspection-second-look": f"/bench/orders/{self.waiting().pk}/inspection/",
            "receive-again": f"/bench/cylinders/{out.pk}/receive/",
            "lab-files-waiting": "/bench/lab-files/",
            "lab-file-line": f"/bench/lab-files/{self.waiting_line().pk}/",
            "held": "/bench/held/",
            "record": f"/bench/records/{record.pk}/",
            "runs": "/bench/runs/",
            "lab-log": f"/bench/lab-log/?lab={line.lab_id}&day={record.tested_on}",
            "runs-in": "/bench/runs/in/",
            "run-to": parts["lab"],
            "run": f"/bench/runs/{line.pk}/",
            "reassembly": f"{parts['order']}reassembly/",
            "reassembly-account": f"{parts['order']}reassembly/?account={boot.pk}",
            "service": f"{parts['order']}parts/{valve.pk}/service/",
            "oxygen": f"{parts['order']}oxygen/",
            "stop": f"{parts['order']}stop/",
            "labels": "/bench/labels/",
            "label-run": f"/bench/labels/{self.label_run().pk}/",
            **self.steps(),
        }

    def owner(self) -> dict[str, str]:
        """What only an owner of the shop can open."""
        asked = f"rin={self.job.world.lab.rin}&first=2020-01-01&last=2030-12-31"
        return {
            "owner-figures": "/bench/figures/",
            "owner-board": "/bench/",
            "recall": "/bench/recall/",
            "recall-found": f"/bench/recall/?{asked}",
        }

    def steps(self) -> dict[str, str]:
        """A page of each step, at a visit that stands there, and one that is out of order."""
        received, torn, away, ready = (
            WorkOrder.objects.filter(stage=stage, closed_at__isnull=True).first()
            for stage in (Stage.RECEIVED, Stage.TORN_DOWN, Stage.AT_LAB, Stage.READY)
        )
        ended = WorkOrder.objects.filter(cylinder__life="condemned").first()
        pages = {
            "teardown": (received, "teardown/"),
            "tag-camera": (received, "teardown/camera/"),
            "teardown-part": (received, "teardown/?part=boot"),
            "pack": (torn, "pack/"),
            "stamp": (away, "stamp/"),
            "inspection": (torn, "inspection/"),
            "fill": (ready, "fill/"),
            "handover": (ready, "handover/"),
            "notice": (ended, "notice/"),
            "out-of-order": (received, "fill/"),
        }
        return {
            name: f"/bench/orders/{order.pk}/{end}" for name, (order, end) in pages.items() if order
        }

    def strangers(self) -> dict[str, str]:
        """What somebody without an account can open."""
        link = re.sub("^https?://[^/]+", "", self.job.status_address)
        bag = Tag.objects.filter(kind=TagKind.BAG).first()
        assert bag is not None
        return {
            "login": "/bench/login/",
            "lab-sign-in": "/lab/sign-in/",
            "problems": "/problems/",
            "problem": f"/problems/{next(iter(PROBLEMS))}",
            "public": f"/t/{self.job.tag.code}",
            "public-bag": f"/t/{bag.code}",
            "public-unused": f"/t/{self.blank().code}",
            "public-unknown": "/t/7K2M9QX4WBTCK",
            "public-typed": "/t/",
            "status": link,
            "status-gone": f"/s/{'a' * 32}",
        }

    def lab(self) -> dict[str, str]:
        """What a lab that signed in with its key can open."""
        away = ConsignmentLine.objects.filter(
            consignment__lab=self.job.world.lab,
            consignment__sent_at__isnull=False,
            returned_at__isnull=True,
        )
        record = TestRecord.objects.filter(lab=self.job.world.lab).latest("pk")
        return {
            "lab": "/lab/",
            "lab-enter": f"/lab/cylinders/{away.earliest('pk').pk}/",
            "lab-record": f"/lab/records/{record.lab_reference}/",
            "lab-chambers": "/lab/chambers/",
            "lab-checks": "/lab/checks/",
            "lab-day": "/lab/log/",
            "lab-files": "/lab/files/",
            "lab-file": f"/lab/files/{self.waiting_line().batch_id}/",
        }

    def every_path(self) -> list[str]:
        """All of them."""
        seen = (self.bench(), self.owner(), self.strangers(), self.lab())
        return [path for pages in seen for path in pages.values()]

    def waiting_line(self) -> BatchLine:
        """A line of the lab's file whose cylinder nobody can name."""
        content = json.dumps(makers.record_body(cylinder={"serial": "ZZ-UNKNOWN"}))
        lab = self.job.world.lab
        batch, _new = running.take(lab_id=lab.pk, content=content, dry_run=False, at=makers.NOON)
        line, _made = batch.lines.get_or_create(
            number=1,
            defaults={"outcome": "waiting", "code": "cylinder_not_found", "says": "None is."},
        )
        return line

    def label_run(self) -> PrintRun:
        """A run of blank labels, reserved and not yet printed."""
        by, host = self.job.world.by, settings.TAG_HOST
        return runs.start(key="a", count=8, host=host, printer="", at=self.job.now, by=by)

    def waiting(self) -> WorkOrder:
        """A visit whose inspection waits for a second person's look."""
        found = WorkOrder.objects.filter(inspections__result="waiting").first()
        if found:
            return found
        now, by = self.job.now, self.job.world.by
        order = makers.receive(by=by, services=("visual",), serial="KX40999", at=now)
        makers.take_down(order, by=by, at=now)
        look = inspection.Look(
            standard="CGA C-6.1",
            internal="pass",
            external="pass",
            threads="pass",
            sticker_removed=True,
            eddy_current="indication",
            eddy_equipment="EC 2",
            eddy_ring="R 7",
        )
        inspection.record(work_order_id=order.pk, look=look, on=now.date(), at=now, by=by)
        return order

    def blank(self) -> Tag:
        """A tag that stands for nothing yet."""
        found = Tag.objects.filter(state=TagState.MINTED).first()
        if found:
            return found
        [tag] = minting.mint(count=1, host=settings.TAG_HOST, at=self.job.now)
        return tag

    def retired(self) -> Tag:
        """A torn tag that another one has taken the place of."""
        found = Tag.objects.filter(state=TagState.RETIRED).first()
        if found:
            return found
        other = Cylinder.objects.exclude(pk=self.job.order.cylinder_id).earliest("pk")
        by = self.job.world.by
        torn = binding.issue(
            thing=Thing.cylinder(other), host=settings.TAG_HOST, at=self.job.now, by=by
        )
        binding.replace(
            code=torn.code, host=settings.TAG_HOST, reason="torn", at=self.job.now, by=by
        )
        return torn


def _quoted(text: str) -> str:
    return text.replace("\n", "%0A").replace(" ", "%20")


def _misread(code: str) -> str:
    """The code with another check symbol."""
    return code[:-1] + ("1" if code.endswith("0") else "0")
