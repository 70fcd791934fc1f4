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


def line(label: str, hint: str = "", *, required: bool = True, **attrs: str) -> forms.CharField:
    """A line as typed."""
    return forms.CharField(
        label=label,
        help_text=hint,
        required=required,
        max_length=_LONGEST_LINE,
        widget=forms.TextInput(attrs={"autocomplete": "off", "spellcheck": "false"} | attrs),
        error_messages={"required": say("Fill this in.")},
    )


def figure(label: str, hint: str = "", *, required: bool = True) -> forms.CharField:
    """A number as typed."""
    return line(label, hint, required=required, inputmode="decimal")


def one_of(
    label: str, choices: Iterable[tuple[str, str]], hint: str = "", *, required: bool = True
) -> forms.ChoiceField:
    """One of a few; nothing is chosen in advance."""
    return forms.ChoiceField(
        label=label,
        help_text=hint,
        choices=list(choices),
        required=required,
        error_messages={"required": say("Choose one.")},
    )


def units(names: Iterable[str]) -> list[tuple[str, str]]:
    """Units as choices."""
    return [(name, name) for name in names]


def some_lines(label: str, hint: str = "", *, required: bool = False) -> forms.CharField:
    """Some lines as typed."""
    return forms.CharField(
        label=label,
        help_text=hint,
        required=required,
        max_length=_LONGEST_TEXT,
        widget=forms.Textarea(attrs={"rows": "2", "autocomplete": "off"}),
    )


class RecordForm(PageForm):
    """All fields of one record; the template groups them by their names' beginnings."""

    serial = line(
        say("Serial"), say("Type it from the shoulder, not from a list."), autofocus="autofocus"
    )
    manufacturer_mark = line(say("Maker's mark"))
    authority = line(say("Authority"), say("DOT, TC; empty for a UN mark"), required=False)
    specification = line(
        say("Specification"), say("3AL, 3AA, TC-3ALM without the TC"), required=False
    )
    service_pressure = figure(say("Service pressure"), say("as stamped"), required=False)
    service_unit = one_of(say("Unit"), units(PRESSURES))
    first_test = line(say("First test"), "YYYY-MM", required=False)
    permit = line(say("Permit"), required=False)
    alloy = line(say("Alloy"), required=False)

    lab_reference = line(say("Your reference"), say("letters, digits and . _ : -"))
    date = line(say("Day of the test"), "YYYY-MM-DD")
    operator = line(say("Operator"))
    method = one_of(say("Method"), WAYS)
    pressure_unit = one_of(say("Unit of pressures"), units(PRESSURES))
    volume_unit = one_of(say("Unit of expansions"), units(VOLUMES))
    test_pressure = figure(say("Test pressure reached"))
    hold_seconds = figure(say("Held, in seconds"))
    total_expansion = figure(say("Total expansion"), required=False)
    permanent_expansion = figure(say("Permanent expansion"), required=False)
    elastic_expansion = figure(say("Elastic expansion"), say("if you record it"), required=False)
    ree = figure(say("REE"), say("if stamped or certified"), required=False)
    reading_increment = figure(say("Smallest division of the reading"), required=False)

    apparatus = line(say("Chamber of this test"), required=False)

    check_serial = line(say("Calibrated cylinder"), say("its serial"), required=False)
    check_date = line(say("Day of the check"), "YYYY-MM-DD", required=False)
    check_points = some_lines(
        say("Its certificate"), say("a line each: pressure, blank, expansion")
    )
    check_pressure = figure(say("Pressure shown"), required=False)
    check_expansion = figure(say("Expansion shown"), required=False)
    check_permanent = figure(say("Permanent shown"), required=False)

    internal = one_of(say("Inside"), _LOOKS)
    external = one_of(say("Outside"), _LOOKS)
    standard = line(say("Standard followed"), required=False)
    thread = one_of(say("Threads"), _PASS_FAIL, required=False)
    thread_method = line(say("Threads: how"), say("scope, gauge"), required=False)
    eddy = one_of(say("Eddy current"), _PASS_FAIL, required=False)
    eddy_crack = figure(say("Longest crack"), say("in threads; 0 for none"), required=False)
    eddy_equipment = line(say("Equipment"), required=False)
    eddy_ring = line(say("Reference ring"), required=False)
    drying = line(say("Dried by"), required=False)
    drying_c = figure(say("at, in °C"), required=False)
    heat_exposure_c = figure(say("Known heat exposure, °C"), required=False)
    notes = some_lines(say("Notes"))

    use = one_of(say("Used for"), units(_USES))
    disposition = one_of(say("Your verdict"), _ENDS)
    reason = some_lines(say("Reason"), say("needed unless it passed"))
    repeat_of = line(say("Repeat of"), say("your reference of the first test"), required=False)
    stamp_month = figure(say("Stamped month"), say("empty if not stamped"), required=False)
    stamp_year = figure(say("Stamped year"), "YYYY", required=False)
    stamp_symbol = line(say("Symbol after the date"), required=False)

    def note(self, problems: Iterable[Problem]) -> None:
        """Put each problem beside the field that it is about; what fits none stands on top."""
        for problem in problems:
            name = place_of(problem.pointer)
            known = name in self.fields
            self.add_error(name if known else None, problem.says if known else str(problem))
