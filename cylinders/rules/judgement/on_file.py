"""What a lab reported beside a record, as the record leans on it.

The daily check, the inspections and the drying may come by themselves. ``completed`` puts into the
body what it leaves open; what the body says itself is never overruled, but a report against it
holds the record (49 CFR 180.205(f), (g)(3), 180.215(b), 2019-10-01 edition).
"""

import dataclasses
from dataclasses import dataclass

from cylinders.rules.calibration import Calibration
from cylinders.rules.eddy_current import Examination
from cylinders.rules.gauge import Gauge
from cylinders.rules.judgement.body import Drying, TestBody, ThreadInspection


@dataclass(frozen=True, slots=True, kw_only=True)
class OnFile:
    """What stands on file for one record; ``check`` is the number of the check of its day.

    ``no_check`` says why no check of the day can be leaned on, ``against`` what contradicts the
    record; either holds it.
    """

    check: int | None = None
    calibration: Calibration | None = None
    gauge: Gauge | None = None
    no_check: str = ""
    inside: bool = False
    outside: bool = False
    threads: ThreadInspection | None = None
    eddy_current: Examination | None = None
    drying: Drying | None = None
    against: tuple[str, ...] = ()


def completed(body: TestBody, on_file: OnFile) -> TestBody:
    """The body with what it left open filled in from the reports."""
    if on_file == _NOTHING:
        return body
    seen = body.visual
    if on_file.inside and seen.internal == "not_done":
        seen = dataclasses.replace(seen, internal="pass")
    if on_file.outside and seen.external == "not_done":
        seen = dataclasses.replace(seen, external="pass")
    return dataclasses.replace(
        body,
        visual=seen,
        calibration=body.calibration or on_file.calibration,
        gauge=body.gauge or on_file.gauge,
        thread_inspection=body.thread_inspection or on_file.threads,
        eddy_current=body.eddy_current or on_file.eddy_current,
        drying=body.drying or on_file.drying,
    )


_NOTHING = OnFile()
