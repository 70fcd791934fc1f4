"""The catalogues are whole: every sentence, with its figures, compiled, and nothing left fuzzy."""

import importlib
import inspect
import re
from functools import lru_cache
from string import Formatter

import pytest
from babel.messages import Catalog
from django.apps import apps
from django.conf import settings
from django.db.models import Choices

from tests.wording import catalogue
from tests.wording.english import both

LANGUAGES = catalogue.languages()
NAMED = re.compile(r"%\(([a-z_0-9]+)\)s")


@lru_cache
def said() -> Catalog:
    return catalogue.extracted()


def figures(sentence: str) -> list[tuple[str, str, str]]:
    """The figures of a sentence: name, format and conversion, in the order of their names."""
    if "%(" in sentence or "%%" in sentence:
        return sorted((name, "", "") for name in NAMED.findall(sentence))
    if "<code>" in sentence or "{" not in sentence:
        return []
    parsed = Formatter().parse(sentence)
    return sorted((name, spec or "", how or "") for _, name, spec, how in parsed if name)


def test_each_language_that_is_offered_has_a_catalogue_and_no_other() -> None:
    assert sorted(code for code, _ in settings.LANGUAGES) == sorted({"en", *LANGUAGES})


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_sentence_is_translated_and_none_is_fuzzy_or_left_over(language: str) -> None:
    stored = catalogue.stored(language)
    known = {message.id: message for message in stored if message.id}
    wanted = {message.id for message in said() if message.id}
    assert len(wanted) > 2_000
    assert sorted(map(str, wanted - known.keys())) == []
    assert sorted(map(str, known.keys() - wanted)) == []
    assert [m.id for m in known.values() if m.fuzzy or not catalogue.filled(m.string)] == []


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_translation_has_the_figures_of_its_sentence(language: str) -> None:
    wrong = [
        (message.id, translation)
        for message in catalogue.stored(language)
        if message.id
        for translation in both(message.string)
        if figures(translation) not in [figures(one) for one in both(message.id)]
    ]
    assert wrong == []


@pytest.mark.parametrize("language", LANGUAGES)
def test_blanks_at_the_ends_stay_as_they_are(language: str) -> None:
    """A part that is put behind another keeps the blank between them."""
    wrong = [
        message.id
        for message in catalogue.stored(language)
        if isinstance(message.id, str) and message.id
        if isinstance(message.string, str) and message.string
        if (message.id[0] == " ") > (message.string[0] == " ")
        or (message.id[-1] == " ") is not (message.string[-1] == " ")
    ]
    assert wrong == []


@pytest.mark.parametrize("language", LANGUAGES)
def test_what_the_program_reads_is_what_the_translators_wrote(language: str) -> None:
    file = catalogue.LOCALE / language / "LC_MESSAGES" / "django.mo"
    assert file.read_bytes() == catalogue.compiled(catalogue.stored(language))


def test_every_choice_of_every_list_can_be_said() -> None:
    known = {one for message in said() if message.id for one in both(message.id)}
    lists: set[type[Choices]] = set()
    for room in ("cylinders", "labels", "api"):
        modules = [importlib.import_module(f"{room}.models")]
        held_in = {model.__module__ for model in apps.get_app_config(room).get_models()}
        modules += [importlib.import_module(name) for name in held_in]
        for module in modules:
            for value in vars(module).values():
                held = [value, *vars(value).values()] if inspect.isclass(value) else []
                lists |= {one for one in held if inspect.isclass(one) and issubclass(one, Choices)}
    assert len(lists) > 10
    labels = {str(label) for one in lists for _, label in one.choices}
    assert sorted(labels - known) == []


def test_no_sentence_is_said_plainly_and_by_number_too() -> None:
    assert catalogue.in_two_ways() == set()
