"""Judge one test record: run every check, let the worst stand, say what follows."""

import datetime as dt

from cylinders.rules.extra_rows import NO_EXTRA, ExtraRows
from cylinders.rules.judgement import (
    checks_of_cylinder,
    checks_of_lab,
    checks_of_reading,
    checks_of_record,
)
from cylinders.rules.judgement.body import TestBody
from cylinders.rules.judgement.case import Case, case_of
from cylinders.rules.judgement.on_file import OnFile, completed
from cylinders.rules.judgement.ruling import (
    Judgement,
    KnownCylinder,
    LabStanding,
    PreviousTest,
    Ruling,
    Verdict,
    worst_verdict,
)
from cylinders.rules.water_jacket import shown_percent

#: in the order in which they are shown; each gives one ruling under one code, or none
CHECKS = (
    checks_of_reading.numbers_possible,
    checks_of_reading.pressure_reached,
    checks_of_reading.hold,
    checks_of_reading.permanent_expansion,
    checks_of_reading.near_limit,
    checks_of_reading.elastic_expansion,
    checks_of_reading.plausible,
    checks_of_lab.daily_calibration,
    checks_of_lab.pressure_gauge,
    checks_of_lab.gates,
    checks_of_cylinder.visual_inspection,
    checks_of_cylinder.threads,
    checks_of_cylinder.eddy_current_examination,
    checks_of_cylinder.drying,
    checks_of_cylinder.heat_exposure,
    checks_of_cylinder.life,
    checks_of_lab.repeat_test,
    checks_of_lab.permit,
    checks_of_record.plus,
    checks_of_record.stamp,
    checks_of_lab.rin,
    checks_of_record.cylinder,
)


def judge(
    body: TestBody,
    *,
    on: dt.date,
    lab: LabStanding | None = None,
    known_cylinder: KnownCylinder | None = None,
    previous: tuple[PreviousTest, ...] = (),
    extra: ExtraRows = NO_EXTRA,
    on_file: OnFile | None = None,
) -> Judgement:
    """Judge ``body`` as known on the day ``on``; the figures are those of the day of the test.

    ``lab``, ``known_cylinder`` and ``previous`` are what the service knows beside the record;
    ``extra`` are permits and countries that the owner has entered, ``on_file`` what the lab
    reported beside the record (None: nothing was looked up, so nothing is missed there). What is
    not known is never counted in favour of passing.
    """
    whole = completed(body, on_file) if on_file else body
    case = case_of(
        whole,
        on=on,
        lab=lab,
        known=known_cylinder,
        previous=previous,
        extra=extra,
        on_file=on_file,
    )
    made = [check(case) for check in CHECKS]
    rulings = [one for one in made if one is not None]
    rulings.append(checks_of_record.disposition(case, rulings))
    return _judgement(case, tuple(rulings))


def _judgement(case: Case, rulings: tuple[Ruling, ...]) -> Judgement:
    verdict = worst_verdict(rulings)
    read = case.readable
    return Judgement(
        lab_reference=case.body.lab_reference,
        on=case.on,
        verdict=verdict,
        percent_permanent=shown_percent(read) if read else None,
        required_test_pressure=case.required,
        elastic_expansion=read.elastic if read else None,
        next_due=case.next_due if verdict is Verdict.PASSED else None,
        rulings=rulings,
        daily_check=case.on_file.check if case.on_file else None,
    )
