"""No template says a word that is not in the catalogue."""

import re
from pathlib import Path

import pytest

TEMPLATES = Path(__file__).parents[2] / "api" / "pages" / "templates"
#: what is the same in every language: units, forms of files, names of things of the network
SAME = re.compile(r"\b(?:PDF|PNG|CSV|HTTP|CFR|psi|bar|cm³|in³|REE|MOD|dpi)\b")
SPOKEN = re.compile(r'\s(?:aria-label|alt|title|placeholder)="([^"]*)"')
TOLD_TO_NOBODY = re.compile(
    r"\{#.*?#\}|\{% comment %\}.*?\{% endcomment %\}|<!--.*?-->"
    r"|<(script|style|svg|pre|code)\b.*?</\1>"
    r"|\{% blocktranslate.*?\{% endblocktranslate %\}"
    r"|\{% block body_class %\}.*?\{% endblock %\}",
    re.DOTALL,
)
TAG = re.compile(r"<[a-zA-Z/!](?:\{[{%].*?[}%]\}|[^>])*>", re.DOTALL)
MARKS = re.compile(r"\{[{%].*?[}%]\}|&[#a-z0-9]+;", re.DOTALL)
WORD = re.compile(r"[A-Za-z]{2,}")
#: hold the class of a style, not a word
CLASSES = {"lab/tone.html"}


def templates() -> list[str]:
    return sorted(str(path.relative_to(TEMPLATES)) for path in TEMPLATES.rglob("*.*"))


def untranslated(text: str) -> list[str]:
    text = TOLD_TO_NOBODY.sub("", text)
    spoken = [MARKS.sub("", attribute) for attribute in SPOKEN.findall(_without_literals(text))]
    read = MARKS.sub("", TAG.sub("\n", text)).split("\n")
    return [one.strip() for one in (*spoken, *read) if WORD.search(SAME.sub("", one))]


def _without_literals(text: str) -> str:
    """Sentences in the quotes of a mark, so that the quotes of attributes are the only ones."""
    return re.sub(r"\{%.*?%\}", "", text)


def test_the_check_finds_what_is_not_marked() -> None:
    assert untranslated("<p>Hello</p>") == ["Hello"]
    assert untranslated('<nav aria-label="Lab"></nav>') == ["Lab"]
    assert untranslated('<a href="{% url "x" %}">{% translate "Board" %}</a>, {{ name }}') == []


@pytest.mark.parametrize("name", templates())
def test_every_word_of_a_template_is_marked_for_translation(name: str) -> None:
    text = (TEMPLATES / name).read_text(encoding="utf-8")
    assert untranslated(text) == [] or name in CLASSES


def test_what_rules_say_is_shown_in_the_readers_language() -> None:
    """``says`` is always English where it is made, so a template that shows it bare is wrong."""
    bare = re.compile(r"\{\{ [a-z_.]*says \}\}")
    found = [name for name in templates() if bare.search((TEMPLATES / name).read_text("utf-8"))]
    assert found == []
