"""Rules of this house about dangerous calls and about secrets in the tree, each with its few cases.

What ruff and bandit look for already is not looked for twice. Source of the demands: OWASP ASVS
5.0.0, V1.2 (output), V1.3 (sanitising), V1.5 (deserialising), V3.5.1, V3.7.2, V11.5.1, V13.3.1.
"""

import ast
import math
import re
import subprocess
from collections import Counter, defaultdict
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import pytest

HOUSE = Path(__file__).parents[2]
ROOMS = ("api", "cylinders", "labels")
#: name that is called or imported: why nobody may
FORBIDDEN = {
    "mark_safe": "text from somebody could become markup",
    "SafeString": "the same",
    "format_html_join": "the same; a template does it",
    "pickle": "reading it runs code",
    "marshal": "the same",
    "shelve": "the same",
    "yaml": "no part of this service reads it",
    "random": "not for secrets: use the module secrets",
    "RawSQL": "values belong into parameters",
    "raw": "the same",
    "extra": "the same",
    "system": "a shell reads what somebody wrote",
    "popen": "the same",
    "eval": "runs what somebody wrote",
    "exec": "the same",
    "urlopen": "follows redirects and waits for ever",
    "xmlrpc": "no part of this service speaks it",
}
#: where a form without a token of ours is taken, and why that is no danger
WITHOUT_TOKEN = {
    "api/pages/status/certificate.py": "it only answers, and changes nothing",
    "api/pages/status/decline.py": "the signed address is the proof (RFC 8058)",
}
#: where a statement is put together, and from what: never from anything that somebody sent
OF_OUR_OWN_NAMES = {
    "api/guards.py": "names of triggers",
    "api/backups/counted.py": "names of tables, quoted",
    "api/backups/moving.py": "what Django says to set sequences right",
    "cylinders/models/set_at_once.py": "names of columns",
    "cylinders/operations/reminders/planning.py": "names of columns, and a query of Django's",
    "labels/glance.py": "one constant query",
}
#: templates that write plain text, where an escaped sign would be wrong
PLAIN = re.compile(r"mail/[a-z_]+\.txt$")


@cache
def sources() -> dict[Path, ast.Module]:
    paths = (path for room in ROOMS for path in (HOUSE / room).rglob("*.py"))
    return {p: ast.parse(p.read_text("utf-8")) for p in paths if "migrations" not in p.parts}


def told(path: Path) -> str:
    return str(path.relative_to(HOUSE))


def names_in(tree: ast.Module) -> Iterator[tuple[int, str]]:
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            yield from ((node.lineno, alias.name.partition(".")[0]) for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            yield node.lineno, (node.module or "").partition(".")[0]
            if node.level == 0 and (node.module or "").startswith("django"):
                yield from ((node.lineno, alias.name) for alias in node.names)
        elif isinstance(node, ast.Call):
            yield node.lineno, getattr(node.func, "attr", getattr(node.func, "id", ""))


def test_nobody_calls_what_is_dangerous() -> None:
    found = [
        f"{told(path)}:{line}: {name}: {FORBIDDEN[name]}"
        for path, tree in sources().items()
        for line, name in names_in(tree)
        if name in FORBIDDEN
    ]
    assert found == []


@cache
def all_calls() -> dict[str, list[tuple[Path, ast.Call]]]:
    found = defaultdict(list)
    for path, tree in sources().items():
        for node in ast.walk(tree):
            if isinstance(node, ast.Call):
                found[getattr(node.func, "attr", getattr(node.func, "id", ""))].append((path, node))
    return dict(found)


def calls(name: str) -> list[tuple[Path, ast.Call]]:
    return all_calls().get(name, [])


def test_no_process_is_started_through_a_shell() -> None:
    started = [*calls("run"), *calls("Popen"), *calls("check_output"), *calls("call")]
    shells = [told(p) for p, call in started if any(k.arg == "shell" for k in call.keywords)]
    assert shells == []
    assert started


def test_no_answer_leads_where_an_address_says() -> None:
    leading = [*calls("HttpResponseRedirect"), *calls("redirect")]
    asked = re.compile(r"request\.(GET|POST|META|headers|COOKIES)\b")
    assert [f"{told(p)}:{c.lineno}" for p, c in leading if asked.search(ast.unparse(c))] == []
    assert leading


def test_every_connection_to_elsewhere_has_an_end() -> None:
    opened = [*calls("HTTPSConnection"), *calls("HTTPConnection"), *calls("create_connection")]
    endless = [
        f"{told(path)}:{call.lineno}"
        for path, call in opened
        if len(call.args) < 2
        and not any(keyword.arg in ("timeout", None) for keyword in call.keywords)
    ]
    assert endless == []


def test_statements_are_built_from_constants_alone() -> None:
    statements = [*calls("execute"), *calls("copy")]
    loose = {
        told(path)
        for path, call in statements
        if isinstance(call.func, ast.Attribute) and call.args and not is_fixed(call.args[0])
    }
    assert loose == OF_OUR_OWN_NAMES.keys()


def is_fixed(text: ast.expr) -> bool:
    """A text that stands in the code as it is, or the name of a constant."""
    if isinstance(text, ast.Name):
        return text.id.isupper()
    return isinstance(text, ast.Constant)


def test_a_form_without_a_token_is_taken_only_where_it_says_why() -> None:
    exempt = {told(path) for path in sources() if "@csrf_exempt" in path.read_text("utf-8")}
    assert exempt == WITHOUT_TOKEN.keys()


def test_templates_escape_everything_but_plain_text() -> None:
    loose = re.compile(r"\|\s*safe(seq)?\b|autoescape\s+off")
    templates = [p for room in ROOMS for p in (HOUSE / room).rglob("templates/**/*") if p.is_file()]
    found = {told(path) for path in templates if loose.search(path.read_text(encoding="utf-8"))}
    assert [name for name in found if not PLAIN.search(name)] == []
    assert len(templates) > 80


# Secrets in the tree

_SHAPES = {
    "a private key": re.compile(r"-----BEGIN [A-Z ]*PRIVATE KEY-----"),
    "a cloud key": re.compile(r"\b(AKIA|ASIA)[A-Z0-9]{16}\b"),
    "a signed token": re.compile(
        r"\beyJ[A-Za-z0-9_-]{20,}\.[A-Za-z0-9_-]{20,}\.[A-Za-z0-9_-]{20,}"
    ),
    "a webhook's secret": re.compile(r"\bwhsec_[A-Za-z0-9+/]{24,}"),
    "a password in an address": re.compile(r"\b[a-z]+://[^/\s:@\"'{}]+:[^/\s:@\"'{}.]{3,}@"),
}
_WORD = re.compile(r"[A-Za-z0-9+/_=-]{32,}")
#: bits for each symbol: words and paths have fewer, random ones of this length have more
_RANDOM = 4.6
#: files of which the random-looking words are known to be none, and why
NO_SECRETS = {
    ".pins/": "hashes of packages",
    "api/pages/static/vendor/": "a library, as it was built",
    "tests/browser/vendor/": "the same",
    "labels/fonts/": "fonts",
    "api/locale/": "sentences",
    "fixtures/pictures/": "pictures",
}
#: words that look like secrets and are none: the file, how the word begins, why
KNOWN = {
    "README.md": ("postgresql://user", "the shape of an address"),
    "api/environment.py": ("postgresql://user", "the same"),
    "api/management/commands/move.py": ("postgresql://user", "the same"),
    "api/webhooks/signing.py": ("bopeUqmJ", "a signature in an example"),
    "tests/api/test_settings.py": ("kq3Jd0bX", "a key of no service, to see a good one pass"),
    "tests/api/test_environment.py": ("postgresql://tech", "to be taken apart"),
    "tests/api/webhooks/test_addresses.py": ("https://user", "to be refused"),
    "tests/labels/test_extract.py": ("https://user", "to be refused"),
    "tests/published/test_standard_webhooks.py": ("g0hM9SsE", "a published example"),
}


def tracked() -> list[str]:
    ran = subprocess.run(["git", "ls-files"], cwd=HOUSE, capture_output=True, text=True, check=True)
    return [name for name in ran.stdout.splitlines() if (HOUSE / name).is_file()]


def bits(word: str) -> float:
    counts = Counter(word)
    return -sum(n / len(word) * math.log2(n / len(word)) for n in counts.values())


def suspects(name: str, text: str) -> Iterator[str]:
    for what, shape in _SHAPES.items():
        yield from (f"{name}: {what}: {found.group()[:60]}" for found in shape.finditer(text))
    for found in _WORD.finditer(text):
        word = found.group()
        mixed = re.search("[a-z]", word) and re.search("[A-Z]", word) and re.search("[0-9]", word)
        if mixed and word.count("/") < 3 and bits(word) > _RANDOM:
            yield f"{name}: looks random: {word[:60]}"


def is_known(suspect: str) -> bool:
    name, _what, word = suspect.split(": ", 2)
    return name in KNOWN and word.startswith(KNOWN[name][0])


def test_no_secret_stands_in_the_tree() -> None:
    found = []
    for name in tracked():
        if name.startswith(tuple(NO_SECRETS)):
            continue
        try:
            text = (HOUSE / name).read_text(encoding="utf-8")
        except UnicodeDecodeError:
            continue  # a picture
        found += [one for one in suspects(name, text) if not is_known(one)]
    assert found == []


@pytest.mark.parametrize(
    "planted",
    [
        "SECRET = 'Zk3vQ9xT1mWb7LrA" + "2sHf6PpUe8GcVtNiMoRyZxB5wQ0'",
        "-----BEGIN " + "PRIVATE KEY-----",
        "url = 'postgresql://shop:" + "hunter2secret@db.example.org/shop'",
        f"hook = 'whsec_{'Ab3' * 12}'",
    ],
)
def test_a_planted_secret_is_found(planted: str) -> None:
    assert list(suspects("x.py", planted))
