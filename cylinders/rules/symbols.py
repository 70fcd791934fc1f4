"""Symbols that follow a requalification date, and what each of them says was done.

49 CFR 180.213(f), 2019-10-01 edition. "V" and "R" are not among them; "X" in the drawing of
180.213(d) is a placeholder, and a row of X over the specification condemns (180.205(i)(2)(i)).

>>> SYMBOLS["VE"].test
'eddy current + visual'
>>> find_symbol("V") is None
True
"""

from dataclasses import dataclass

from cylinders.rules.verdict import Certainty, Citation
from cylinders.rules.wording import say


@dataclass(frozen=True, slots=True)
class Symbol:
    """One symbol: how it is named here (``""`` for none), what was done, and what it permits.

    ``years`` is the period its own paragraph gives, ``None`` where the specification or the
    permit decides. ``scuba`` is ``False`` where the paragraph excludes underwater breathing.
    """

    code: str
    test: str
    cites: Citation
    years: int | None = None
    scuba: bool = True


def _section(paragraph: str) -> Citation:
    return Citation(f"49 CFR {paragraph}", "2019-10-01")


#: by code; the plain mark without a symbol is ``""``
SYMBOLS: dict[str, Symbol] = {
    row.code: row
    for row in (
        Symbol("", say("volumetric expansion"), _section("180.213(f)(1)")),
        Symbol(
            "star", say("volumetric expansion"), _section("180.213(f)(2)"), years=10, scuba=False
        ),
        Symbol("+", say("volumetric expansion"), _section("180.213(f)(3)")),
        Symbol("S", say("proof pressure (or DOT 8 shell)"), _section("180.213(f)(4), (6)")),
        Symbol("E", say("external visual"), _section("180.213(f)(5)"), years=5, scuba=False),
        Symbol("FS", say("shell and porous filler"), _section("180.213(f)(7)")),
        Symbol("UE", say("ultrasonic examination + visual"), _section("180.213(f)(8)")),
        Symbol("AE", say("acoustic emission + visual"), _section("180.213(f)(8)")),
        Symbol("VE", say("eddy current + visual"), _section("180.213(f)(9)")),
    )
}

#: German stamps, since March 2012: "F" after the date says that the strength test was done
GERMAN_F = Symbol(
    "F",
    say("strength test"),
    Citation("trade page on German stamps", "2012-03", Certainty.SECOND_HAND),
)


def find_symbol(code: str | None) -> Symbol | None:
    """Return the row for ``code``; ``None`` and ``""`` are the plain mark, unknown is ``None``."""
    return SYMBOLS.get(code or "")
