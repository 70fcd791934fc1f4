"""From a JSON value to a :class:`TestBody`, strictly: every problem at once, nothing guessed."""

from decimal import Decimal
from typing import get_args

from cylinders.rules.calibration import Calibration, Observed, Point
from cylinders.rules.cylinder_facts import Service
from cylinders.rules.direct_expansion import Water
from cylinders.rules.eddy_current import Examination
from cylinders.rules.gauge import Gauge
from cylinders.rules.judgement.body import (
    Cylinder,
    Disposition,
    Drying,
    Method,
    PassFail,
    Stamp,
    TestBody,
    ThreadInspection,
)
from cylinders.rules.judgement.problem import Problem, UnusableBody
from cylinders.rules.judgement.reader import Fields
from cylinders.rules.quantity import Quantity
from cylinders.rules.visual import Inspection, Result
from cylinders.rules.wording import say

_METHODS: tuple[Method, ...] = get_args(Method)
_DISPOSITIONS: tuple[Disposition, ...] = get_args(Disposition)
_PASS_FAIL: tuple[PassFail, ...] = get_args(PassFail)
_RESULTS: tuple[Result, ...] = get_args(Result)
_MOST_POINTS = 50
_FIRST_STAMP, _LAST_STAMP = 1900, 2999
_MOST_FILLS = 1_000_000
_CELSIUS = "C"
_WHOLE = 100


def parse(body: object) -> TestBody:
    """Read one test record; raises :class:`UnusableBody` with every problem that was found.

    ``body`` is what :func:`~cylinders.rules.judgement.strict_json.loads` returns: numbers as
    ``int`` or ``Decimal``. Binary floats are refused.
    """
    problems: list[Problem] = []
    if body is None:
        raise UnusableBody([Problem("", "wrong_type", say("null is not an object"))])
    fields = Fields(body, "", problems)
    read = _record(fields)
    fields.close()
    if problems:
        raise UnusableBody(problems)
    return read


def _record(fields: Fields) -> TestBody:
    method = fields.choice("method", _METHODS, "water_jacket")
    total, permanent = _expansions(fields, method)
    return TestBody(
        lab_reference=fields.text("lab_reference"),
        cylinder=named_cylinder(fields.child("cylinder")),
        date=fields.day("date"),
        method=method,
        test_pressure=fields.quantity("test_pressure", "pressure"),
        hold_seconds=fields.number("hold_seconds"),
        total_expansion=total,
        permanent_expansion=permanent,
        elastic_expansion=fields.optional_quantity("elastic_expansion", "volume"),
        ree=fields.optional_quantity("ree", "volume", positive=True),
        limit_percent=_limit(fields),
        required_test_pressure=fields.optional_quantity(
            "required_test_pressure", "pressure", positive=True
        ),
        reading_increment=fields.optional_quantity("reading_increment", "volume", positive=True),
        calibration=_calibration(fields),
        visual=_visual(fields.child("visual")),
        eddy_current=_eddy_current(fields),
        thread_inspection=_threads(fields),
        drying=_drying(fields),
        heat_exposure=_heat(fields),
        use=fields.choice("use", tuple(Service), Service.SCUBA),
        disposition=fields.choice("disposition", _DISPOSITIONS, "condemned"),
        reason=fields.remark("reason"),
        repeat_of=fields.optional_text("repeat_of"),
        operator=fields.text("operator"),
        rin=fields.text("rin"),
        stamp=_stamp(fields),
        water=_water(fields),
        gauge=gauge(fields),
        daily_check=fields.optional_text("daily_check"),
        apparatus=fields.optional_text("apparatus"),
        system_check_pressure=fields.optional_quantity(
            "system_check_pressure", "pressure", positive=True
        ),
        fills=fields.optional_whole("fills", least=0, most=_MOST_FILLS),
    )


def _expansions(fields: Fields, method: Method) -> tuple[Quantity | None, Quantity | None]:
    """Both are needed for a volumetric test; a proof pressure test has none to record."""
    if method == "proof_pressure":
        return (
            fields.optional_quantity("total_expansion", "volume"),
            fields.optional_quantity("permanent_expansion", "volume"),
        )
    return (
        fields.quantity("total_expansion", "volume"),
        fields.quantity("permanent_expansion", "volume"),
    )


def _limit(fields: Fields) -> Decimal | None:
    percent = fields.optional_number("limit_percent")
    if percent is not None and not 0 < percent <= _WHOLE:
        fields.note(
            "limit_percent",
            "out_of_range",
            say("{percent} is not between 0 and {whole}", percent=percent, whole=_WHOLE),
        )
    return percent


def named_cylinder(fields: Fields) -> Cylinder:
    """The cylinder as it was read from its shoulder."""
    read = Cylinder(
        serial=fields.text("serial"),
        manufacturer_mark=fields.text("manufacturer_mark"),
        tag=fields.optional_text("tag"),
        authority=fields.optional_text("authority", most=12),
        specification=fields.optional_text("specification", most=24),
        permit=fields.optional_text("permit", most=24),
        service_pressure=fields.optional_quantity("service_pressure", "pressure", positive=True),
        water_capacity=fields.optional_quantity("water_capacity", "volume", positive=True),
        outside_diameter=fields.optional_quantity("outside_diameter", "length", positive=True),
        alloy=fields.optional_text("alloy", most=24),
        first_test=fields.optional_month("first_test"),
    )
    fields.close()
    return read


def _calibration(parent: Fields) -> Calibration | None:
    if not parent.given("calibration"):
        return None
    fields = parent.child("calibration")
    points = tuple(point(row) for row in fields.children("points", most=_MOST_POINTS))
    read = Calibration(
        cylinder_serial=fields.text("cylinder_serial"),
        date=fields.day("date"),
        points=points,
        observed=observed(fields.child("observed")),
    )
    fields.close()
    return read


def point(fields: Fields) -> Point:
    """One line of a certificate."""
    read = Point(
        pressure=fields.quantity("pressure", "pressure"),
        expansion=fields.quantity("expansion", "volume"),
    )
    fields.close()
    return read


def observed(fields: Fields) -> Observed:
    """What the apparatus showed."""
    read = Observed(
        pressure=fields.quantity("pressure", "pressure"),
        expansion=fields.quantity("expansion", "volume"),
        permanent=fields.quantity("permanent", "volume"),
    )
    fields.close()
    return read


def _visual(fields: Fields) -> Inspection:
    read = Inspection(
        internal=fields.choice("internal", _RESULTS, "not_done"),
        external=fields.choice("external", _RESULTS, "not_done"),
        standard=fields.remark("standard", most=80),
        notes=fields.remark("notes"),
    )
    fields.close()
    return read


def _eddy_current(parent: Fields) -> Examination | None:
    if not parent.given("eddy_current"):
        return None
    fields = parent.child("eddy_current")
    crack = fields.number("crack_thread_lengths")
    if crack < 0:
        fields.note(
            "crack_thread_lengths", "out_of_range", say("{crack} is below zero", crack=crack)
        )
    read = Examination(
        result=fields.choice("result", _PASS_FAIL, "fail"),
        crack_thread_lengths=crack,
        equipment=fields.remark("equipment", most=200),
        reference_ring=fields.remark("reference_ring", most=200),
    )
    fields.close()
    return read


def _threads(parent: Fields) -> ThreadInspection | None:
    if not parent.given("thread_inspection"):
        return None
    fields = parent.child("thread_inspection")
    read = ThreadInspection(
        result=fields.choice("result", _PASS_FAIL, "fail"),
        method=fields.remark("method", most=80),
        notes=fields.remark("notes"),
    )
    fields.close()
    return read


def _drying(parent: Fields) -> Drying | None:
    if not parent.given("drying"):
        return None
    fields = parent.child("drying")
    read = Drying(
        method=fields.text("method"),
        temperature=fields.optional_quantity("temperature", "temperature"),
    )
    fields.close()
    return read


def _heat(parent: Fields) -> Quantity | None:
    celsius = parent.optional_number("heat_exposure_c")
    return None if celsius is None else Quantity(celsius, _CELSIUS)


def _stamp(parent: Fields) -> Stamp | None:
    if not parent.given("stamp"):
        return None
    fields = parent.child("stamp")
    read = Stamp(
        month=fields.whole("month", least=1, most=12),
        year=fields.whole("year", least=_FIRST_STAMP, most=_LAST_STAMP),
        symbol=fields.remark("symbol", most=8),
    )
    fields.close()
    return read


def _water(parent: Fields) -> Water | None:
    if not parent.given("water"):
        return None
    fields = parent.child("water")
    read = Water(
        forced_in=fields.quantity("forced_in", "volume", positive=True),
        temperature=fields.quantity("temperature", "temperature"),
    )
    fields.close()
    return read


def gauge(parent: Fields) -> Gauge | None:
    """The member ``gauge``, or ``None``."""
    if not parent.given("gauge"):
        return None
    fields = parent.child("gauge")
    accuracy = fields.number("accuracy_percent")
    if accuracy <= 0:
        fields.note(
            "accuracy_percent",
            "out_of_range",
            say("{accuracy} must be more than zero", accuracy=accuracy),
        )
    read = Gauge(
        full_scale=fields.quantity("full_scale", "pressure", positive=True),
        accuracy_percent=accuracy,
        division=fields.optional_quantity("division", "pressure", positive=True),
        analogue=fields.choice("kind", ("dial", "digital"), "digital") == "dial",
    )
    fields.close()
    return read
