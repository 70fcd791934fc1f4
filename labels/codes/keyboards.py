"""Hand scanners type; with the wrong keyboard set they type other signs. The test tag finds out.

The test text holds the signs that move between layouts. What each layout makes of it is from
memory of the layouts; a result that no row explains is still known to be wrong.
"""

from __future__ import annotations

#: What the scanner test tag carries.
SCANNER_TEST = "TEST-YZAQWM:/-"

#: Layout -> what the keys of a US layout give on it, for the signs of the test.
_MOVED: dict[str, dict[str, str]] = {
    "German": {"Y": "Z", "Z": "Y", "-": "ß", ":": "Ö", "/": "-"},
    "French": {
        "A": "Q",
        "Q": "A",
        "Z": "W",
        "W": "Z",
        "M": "?",
        ":": "M",
        "/": "!",
        "-": ")",
    },
    "Spanish": {"-": "'", ":": "Ñ", "/": "-"},
    "Italian": {"-": "'", ":": "Ç", "/": "-"},
    "Swedish or Finnish": {"-": "+", ":": "Ö", "/": "-"},
    "Danish": {"-": "+", ":": "Æ", "/": "-"},
    "Norwegian": {"-": "+", ":": "Ø", "/": "-"},
}
_TYPED = {
    "".join(moved.get(sign, sign) for sign in SCANNER_TEST).lower(): name
    for name, moved in _MOVED.items()
}
_START = "TEST"


def layout_of(text: str) -> str | None:
    """What the test tag tells about the keyboard: a layout's name, ``""`` when all is right.

    ``"unknown"`` when the text is the test spoilt in no known way, None when it is no test.

    >>> layout_of("TEST-YZAQWM:/-"), layout_of("TESTßZYAQWMÖ-ß"), layout_of("7K2M9QX4WBTCK")
    ('', 'German', None)
    """
    lower = text.lower()
    if lower == SCANNER_TEST.lower():
        return ""
    if lower in _TYPED:
        return _TYPED[lower]
    if lower.startswith(_START.lower()) and len(text) == len(SCANNER_TEST):
        return "unknown"
    return None
