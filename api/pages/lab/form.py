"""The form of one test record: what the lab reads off its instruments and sees on the cylinder.

Every field is text as typed: the reader of the API judges its shape, so a page and a program are
refused for the same reasons. Nothing that decides is chosen in advance.
"""

from collections.abc import Iterable

from django import forms

from api.pages.fields import PageForm
from api.pages.lab.typed import place_of
from cylinders.rules.judgement import Problem
from cylinders.rules.wording import say

_LONGEST_LINE, _LONGEST_TEXT = 200, 2_000
PRESSURES = ("psi", "bar", "kPa", "MPa")
VOLUMES = ("cc", "mL", "L", "in3")
WAYS = (
    ("water_jacket", say("water jacket")),
    ("direct_expansion", say("direct expansion")),
    ("proof_pressure", say("proof pressure")),
)
_LOOKS = (
    ("", say("choose")),
    ("pass", say("pass")),
    ("fail", say("fail")),
    ("not_done", say("not done")),
)
_PASS_FAIL = (("", say("not done")), ("pass", say("pass")), ("fail", say("fail")))
_ENDS = (
    ("", "choose"),
    ("passed", "passed"),
    ("rejected", "rejected"),
    ("condemned", "condemned"),
)
_USES = ("scuba", "scba", "oxygen", "fire", "industrial")


def _line(label: str, hint: str = "", *, required: bool = True, **attrs: str) -> forms.CharField:
    return forms.CharField(
        label=label,
        help_text=hint,
        required=required,
        max_length=_LONGEST_LINE,
        widget=forms.TextInput(attrs={"autocomplete": "off", "spellcheck": "false"} | attrs),
        error_messages={"required": say("Fill this in.")},
    )


def _figure(label: str, hint: str = "", *, required: bool = True) -> forms.CharField:
    return _line(label, hint, required=required, inputmode="decimal")


def _one_of(
    label: str, choices: Iterable[tuple[str, str]], hint: str = "", *, required: bool = True
) -> forms.ChoiceField:
    return forms.ChoiceField(
        label=label,
        help_text=hint,
        choices=list(choices),
        required=required,
        error_messages={"required": say("Choose one.")},
    )


def _units(names: Iterable[str]) -> list[tuple[str, str]]:
    return [(name, name) for name in names]


def _notes(label: str, hint: str = "") -> forms.CharField:
    return forms.CharField(
        label=label,
        help_text=hint,
        required=False,
        max_length=_LONGEST_TEXT,
        widget=forms.Textarea(attrs={"rows": "2", "autocomplete": "off"}),
    )


class RecordForm(PageForm):
    """All fields of one record; the template groups them by their names' beginnings."""

    serial = _line(
        say("Serial"), say("Type it from the shoulder, not from a list."), autofocus="autofocus"
    )
    manufacturer_mark = _line(say("Maker's mark"))
    authority = _line(say("Authority"), say("DOT, TC; empty for a UN mark"), required=False)
    specification = _line(
        say("Specification"), say("3AL, 3AA, TC-3ALM without the TC"), required=False
    )
    service_pressure = _figure(say("Service pressure"), say("as stamped"), required=False)
    service_unit = _one_of(say("Unit"), _units(PRESSURES))
    first_test = _line(say("First test"), "YYYY-MM", required=False)
    permit = _line(say("Permit"), required=False)
    alloy = _line(say("Alloy"), required=False)

    lab_reference = _line(say("Your reference"), say("letters, digits and . _ : -"))
    date = _line(say("Day of the test"), "YYYY-MM-DD")
    operator = _line(say("Operator"))
    method = _one_of(say("Method"), WAYS)
    pressure_unit = _one_of(say("Unit of pressures"), _units(PRESSURES))
    volume_unit = _one_of(say("Unit of expansions"), _units(VOLUMES))
    test_pressure = _figure(say("Test pressure reached"))
    hold_seconds = _figure(say("Held, in seconds"))
    total_expansion = _figure(say("Total expansion"), required=False)
    permanent_expansion = _figure(say("Permanent expansion"), required=False)
    elastic_expansion = _figure(say("Elastic expansion"), say("if you record it"), required=False)
    ree = _figure(say("REE"), say("if stamped or certified"), required=False)
    reading_increment = _figure(say("Smallest division of the reading"), required=False)

    check_serial = _line(say("Calibrated cylinder"), say("its serial"), required=False)
    check_date = _line(say("Day of the check"), "YYYY-MM-DD", required=False)
    check_points = _notes(say("Its certificate"), say("a line each: pressure, blank, expansion"))
    check_pressure = _figure(say("Pressure shown"), required=False)
    check_expansion = _figure(say("Expansion shown"), required=False)
    check_permanent = _figure(say("Permanent shown"), required=False)

    internal = _one_of(say("Inside"), _LOOKS)
    external = _one_of(say("Outside"), _LOOKS)
    standard = _line(say("Standard followed"), required=False)
    thread = _one_of(say("Threads"), _PASS_FAIL, required=False)
    thread_method = _line(say("Threads: how"), say("scope, gauge"), required=False)
    eddy = _one_of(say("Eddy current"), _PASS_FAIL, required=False)
    eddy_crack = _figure(say("Longest crack"), say("in threads; 0 for none"), required=False)
    eddy_equipment = _line(say("Equipment"), required=False)
    eddy_ring = _line(say("Reference ring"), required=False)
    drying = _line(say("Dried by"), required=False)
    drying_c = _figure(say("at, in °C"), required=False)
    heat_exposure_c = _figure(say("Known heat exposure, °C"), required=False)
    notes = _notes(say("Notes"))

    use = _one_of(say("Used for"), _units(_USES))
    disposition = _one_of(say("Your verdict"), _ENDS)
    reason = _notes(say("Reason"), say("needed unless it passed"))
    repeat_of = _line(say("Repeat of"), say("your reference of the first test"), required=False)
    stamp_month = _figure(say("Stamped month"), say("empty if not stamped"), required=False)
    stamp_year = _figure(say("Stamped year"), "YYYY", required=False)
    stamp_symbol = _line(say("Symbol after the date"), required=False)

    def note(self, problems: Iterable[Problem]) -> None:
        """Put each problem beside the field that it is about; what fits none stands on top."""
        for problem in problems:
            name = place_of(problem.pointer)
            known = name in self.fields
            self.add_error(name if known else None, problem.says if known else str(problem))
