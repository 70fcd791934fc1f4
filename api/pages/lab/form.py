"""The form of one test record: what the lab reads off its instruments and sees on the cylinder.

Every field is text as typed: the reader of the API judges its shape, so a page and a program are
refused for the same reasons. Nothing that decides is chosen in advance.
"""

from collections.abc import Iterable

from django import forms

from api.pages.fields import PageForm
from api.pages.lab.typed import place_of
from cylinders.rules.judgement import Problem

_LONGEST_LINE, _LONGEST_TEXT = 200, 2_000
PRESSURES = ("psi", "bar", "kPa", "MPa")
VOLUMES = ("cc", "mL", "L", "in3")
WAYS = (
    ("water_jacket", "water jacket"),
    ("direct_expansion", "direct expansion"),
    ("proof_pressure", "proof pressure"),
)
_LOOKS = (("", "choose"), ("pass", "pass"), ("fail", "fail"), ("not_done", "not done"))
_PASS_FAIL = (("", "not done"), ("pass", "pass"), ("fail", "fail"))
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
        error_messages={"required": "Fill this in."},
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
        error_messages={"required": "Choose one."},
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

    serial = _line("Serial", "Type it from the shoulder, not from a list.", autofocus="autofocus")
    manufacturer_mark = _line("Maker's mark")
    authority = _line("Authority", "DOT, TC; empty for a UN mark", required=False)
    specification = _line("Specification", "3AL, 3AA, TC-3ALM without the TC", required=False)
    service_pressure = _figure("Service pressure", "as stamped", required=False)
    service_unit = _one_of("Unit", _units(PRESSURES))
    first_test = _line("First test", "YYYY-MM", required=False)
    permit = _line("Permit", required=False)
    alloy = _line("Alloy", required=False)

    lab_reference = _line("Your reference", "letters, digits and . _ : -")
    date = _line("Day of the test", "YYYY-MM-DD")
    operator = _line("Operator")
    method = _one_of("Method", WAYS)
    pressure_unit = _one_of("Unit of pressures", _units(PRESSURES))
    volume_unit = _one_of("Unit of expansions", _units(VOLUMES))
    test_pressure = _figure("Test pressure reached")
    hold_seconds = _figure("Held, in seconds")
    total_expansion = _figure("Total expansion", required=False)
    permanent_expansion = _figure("Permanent expansion", required=False)
    elastic_expansion = _figure("Elastic expansion", "if you record it", required=False)
    ree = _figure("REE", "if stamped or certified", required=False)
    reading_increment = _figure("Smallest division of the reading", required=False)

    check_serial = _line("Calibrated cylinder", "its serial", required=False)
    check_date = _line("Day of the check", "YYYY-MM-DD", required=False)
    check_points = _notes("Its certificate", "a line each: pressure, blank, expansion")
    check_pressure = _figure("Pressure shown", required=False)
    check_expansion = _figure("Expansion shown", required=False)
    check_permanent = _figure("Permanent shown", required=False)

    internal = _one_of("Inside", _LOOKS)
    external = _one_of("Outside", _LOOKS)
    standard = _line("Standard followed", required=False)
    thread = _one_of("Threads", _PASS_FAIL, required=False)
    thread_method = _line("Threads: how", "scope, gauge", required=False)
    eddy = _one_of("Eddy current", _PASS_FAIL, required=False)
    eddy_crack = _figure("Longest crack", "in threads; 0 for none", required=False)
    eddy_equipment = _line("Equipment", required=False)
    eddy_ring = _line("Reference ring", required=False)
    drying = _line("Dried by", required=False)
    drying_c = _figure("at, in °C", required=False)
    heat_exposure_c = _figure("Known heat exposure, °C", required=False)
    notes = _notes("Notes")

    use = _one_of("Used for", _units(_USES))
    disposition = _one_of("Your verdict", _ENDS)
    reason = _notes("Reason", "needed unless it passed")
    repeat_of = _line("Repeat of", "your reference of the first test", required=False)
    stamp_month = _figure("Stamped month", "empty if not stamped", required=False)
    stamp_year = _figure("Stamped year", "YYYY", required=False)
    stamp_symbol = _line("Symbol after the date", required=False)

    def note(self, problems: Iterable[Problem]) -> None:
        """Put each problem beside the field that it is about; what fits none stands on top."""
        for problem in problems:
            name = place_of(problem.pointer)
            known = name in self.fields
            self.add_error(name if known else None, problem.says if known else str(problem))
