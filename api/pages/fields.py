"""How forms look: each field with its label, hint, fault and control in one order, no script."""

from pathlib import Path
from typing import Any

from django import forms
from django.conf import settings
from django.forms.renderers import BaseRenderer
from django.template.backends.base import BaseEngine
from django.template.backends.django import DjangoTemplates
from django.utils.functional import cached_property
from django.utils.translation import get_language_info

from cylinders.rules.wording import Lowered, say

_OURS = Path(__file__).resolve().parent / "templates"
_DJANGO = Path(forms.__file__).resolve().parent / "templates"
LONGEST_LINE, LONGEST_TEXT = 200, 2_000
_HALF_A_PHONE = 16  # letters


class PageRenderer(BaseRenderer):
    """Finds the field and widget templates of the pages first, then Django's own."""

    form_template_name = "pages/form.html"
    field_template_name = "pages/field.html"

    @cached_property
    def engine(self) -> BaseEngine:
        """A template engine of its own: forms see no other folder."""
        return DjangoTemplates(
            {
                "NAME": "pages",
                "DIRS": [str(_OURS), str(_DJANGO)],
                "APP_DIRS": False,
                "OPTIONS": {"builtins": ["api.templatetags.wording"]},
            },
        )

    def get_template(self, template_name: str) -> Any:
        """The template of that name."""
        return self.engine.get_template(template_name)


#: one for all forms: a renderer keeps the templates that it has read
RENDERER = PageRenderer()


class PageForm(forms.Form):
    """A form of the pages; faults stand beside their field, never in a browser's bubble."""

    default_renderer = RENDERER
    use_required_attribute = False
    required_css_class = "must"


class Tiles(forms.RadioSelect):
    """One choice of a few, each a large target."""

    template_name = "pages/tiles.html"
    option_template_name = "pages/tile.html"


class Ticks(forms.CheckboxSelectMultiple):
    """Any of a few, each a large target."""

    template_name = "pages/tiles.html"
    option_template_name = "pages/tile.html"


def wide(choices: list[tuple[str, str]]) -> dict[str, str]:
    """One tile a row where a label would not fit half a phone."""
    return {"class": "long"} if any(len(label) > _HALF_A_PHONE for _, label in choices) else {}


def line(label: str, *, hint: str = "", required: bool = True, **attrs: str) -> forms.CharField:
    """A line of text; ``attrs`` go to the control (``inputmode``, ``list``)."""
    return forms.CharField(
        label=label,
        help_text=hint,
        required=required,
        max_length=LONGEST_LINE,
        widget=forms.TextInput(attrs={"autocomplete": "off"} | attrs),
        error_messages={"required": say("Fill this in: {label}.", label=Lowered(label))},
    )


def text(label: str, *, hint: str = "", required: bool = True, rows: int = 3) -> forms.CharField:
    """Some lines of text."""
    return forms.CharField(
        label=label,
        help_text=hint,
        required=required,
        max_length=LONGEST_TEXT,
        widget=forms.Textarea(attrs={"rows": str(rows), "autocomplete": "off"}),
        error_messages={"required": say("Fill this in: {label}.", label=Lowered(label))},
    )


def pick(
    label: str,
    choices: list[tuple[str, str]],
    *,
    hint: str = "",
    required: bool = True,
) -> forms.ChoiceField:
    """One of a few."""
    return forms.ChoiceField(
        label=label,
        help_text=hint,
        choices=choices,
        required=required,
        widget=Tiles(attrs=wide(choices)),
        error_messages={"required": say("Choose one: {label}.", label=Lowered(label))},
    )


def languages() -> list[tuple[str, str]]:
    """The languages that are spoken here, each by its own name, for whoever reads no other."""
    names = [(code, get_language_info(code)["name_local"]) for code, _ in settings.LANGUAGES]
    return [(code, f"{name.capitalize()} ({code})") for code, name in names]


def tick(label: str, *, fault: str = "", hint: str = "") -> forms.BooleanField:
    """A box to tick; ``fault`` is what is said when it must be ticked and is not."""
    return forms.BooleanField(
        label=label,
        help_text=hint,
        required=bool(fault),
        error_messages={"required": fault},
    )


def file(label: str, *, hint: str = "", required: bool = False, accept: str) -> forms.FileField:
    """One file; ``accept`` only helps to choose: what a file is, is found in its bytes."""
    return forms.FileField(
        label=label,
        help_text=hint,
        required=required,
        allow_empty_file=True,
        widget=forms.FileInput(attrs={"accept": accept}),
    )


def month(label: str, *, hint: str = say("YYYY-MM, empty when not known")) -> forms.CharField:
    """A month as YYYY-MM; empty is "not known"."""
    return forms.RegexField(
        regex=r"^[0-9]{4}-(0[1-9]|1[0-2])$",
        label=label,
        help_text=hint,
        required=False,
        widget=forms.TextInput(attrs={"autocomplete": "off", "placeholder": "YYYY-MM"}),
        error_messages={"invalid": say("Write the month as YYYY-MM, for example 2021-11.")},
    )
