"""The phone reads a code as the server does: what it sends, the server would have read alike."""

import pytest

from labels import codes
from tests.browser.phone import Phone

pytestmark = pytest.mark.django_db(transaction=True)

OURS = ["cyl.example", "127.0.0.1:8000"]
GOOD = "7K2M9QX4WBTCK"
TEXTS = [
    *(GOOD, GOOD.lower(), "7K2M 9QX4 WBTCK", "7k2m-9qx4-wbtck", "7K2M9QX4WBTCD", GOOD[:-1]),
    *(f"https://CYL.EXAMPLE/T/{GOOD}", f"HTTPS://cyl.example/t/{GOOD.lower()}"),
    *(f"http://127.0.0.1:8000/t/{GOOD}/", f"https://cyl.example/t/{GOOD}?a=b#c"),
    *(f"https://cyl.example.evil.test/t/{GOOD}", f"https://evil.test/t/{GOOD}"),
    *(f"https://cyl.example@evil.test/t/{GOOD}", f"https://cyl.example\\@evil.test/t/{GOOD}"),
    *(f"https://cyl.example:444/t/{GOOD}", f"https://cyl.example//t/{GOOD}"),
    *(f"https://cyl.example/s/{GOOD}", f"https://cyl.example/t/../t/{GOOD}"),
    *(f"https://cyl.example/t/{GOOD}/x", "https://cyl.example/t/", "javascript:alert(1)"),
    *("WIFI:T:WPA;S:shop;P:x;;", "", " ", "A" * 13, "\u0130" * 13, "\u01317K2M9QX4WBTC"),
    *(
        f"{GOOD}{GOOD}",
        f"{GOOD} {GOOD}",
        "7K2M9QX4WBTC\u212a",
        f"https://\u0441yl.example/t/{GOOD}",
    ),
    *("x" * 201, f"https://cyl.example/t/{GOOD}?{'x' * 200}", "U" * 13, "0" * 13),
]


def read_by_server(text: str) -> str:
    found = codes.extract(text, OURS)
    return found.code if isinstance(found, codes.Found) else ""


def read_by_phone(hand: Phone, texts: list[str]) -> list[str]:
    hand.open("/bench/scan/camera/")
    found: list[str] = hand.page.evaluate(
        "([texts, hosts]) => import('/static/scanner/codes.js')"
        ".then(({codeIn}) => texts.map((text) => codeIn(text, hosts)))",
        [texts, OURS],
    )
    return found


def test_what_the_phone_takes_for_a_code_is_one_to_the_server(hand: Phone) -> None:
    read = dict(zip(TEXTS, read_by_phone(hand, TEXTS), strict=True))
    differ = {text: code for text, code in read.items() if code and code != read_by_server(text)}
    assert differ == {}


def test_the_phone_reads_every_code_that_is_minted(hand: Phone) -> None:
    minted = [codes.new_code() for _ in range(2_000)]
    printed = [f"https://CYL.EXAMPLE/T/{code}" for code in minted]
    assert read_by_phone(hand, printed) == minted


def test_the_phone_refuses_every_single_misread_symbol(hand: Phone) -> None:
    code = codes.new_code()
    misread = [
        code[:place] + symbol + code[place + 1 :]
        for place in range(len(code))
        for symbol in codes.ALPHABET
        if symbol != code[place]
    ]
    assert set(read_by_phone(hand, misread)) == {""}
