"""What may arrive at the scan field, good and bad."""

import urllib.parse

import pytest
from hypothesis import given
from hypothesis import strategies as st

from labels import codes
from labels.codes import Found, Refused, extract
from tests.labels.samples import CODE, HOST, URL, seeded_codes

OURS = {HOST}
OTHER = seeded_codes(1)[0]


def test_our_own_payload_is_found() -> None:
    assert extract(URL, OURS) == Found(code=CODE, shown=URL)


@pytest.mark.parametrize(
    "text",
    [
        CODE,
        codes.show(CODE),
        CODE.lower(),
        "7k2m-9qx4-wbtck",
        f"{CODE}\r\n",
        f"\t{CODE}\t",
        f"\x02{CODE}\x03",
        f"{CODE}\x1d",
        f"]Q3{CODE}",
        f"]Q1\x1d{URL}\r",
        URL.lower(),
        URL.upper(),
        URL.replace("https", "http"),
        f"{URL}/",
        f"{URL}?next=https://evil.test/",
        f"{URL}?utm_source=chat#top",
        f"https://{HOST}/t/7k2m-9qx4-wbtck",
        f"{HOST}/t/{CODE}",
        f"{URL}\r\n{URL}\r\n",
        f"{URL}{URL}",
        f"{CODE}\n{URL}",
        f"{CODE} {CODE}",
    ],
)
def test_every_honest_form_of_one_tag_is_found(text: str) -> None:
    found = extract(text, OURS)
    assert isinstance(found, Found)
    assert found.code == CODE


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ("", "empty"),
        (" \r\n", "empty"),
        ("]Q3", "empty"),
        ("7" * 4_296, "too_long"),
        (CODE[:-1], "length"),
        (CODE[:-1] + "8", "check"),
        (CODE.replace("K", "U", 1), "alphabet"),
        # Hosts that look like ours
        (f"https://{HOST}.evil.test/T/{CODE}", "other_site"),
        (f"https://evil{HOST}/T/{CODE}", "other_site"),
        (f"https://{HOST}@evil.test/T/{CODE}", "other_site"),
        (f"https://user:pass@{HOST}/T/{CODE}", "other_site"),
        (f"https://{HOST}:8443/T/{CODE}", "other_site"),
        (f"https://{HOST}./T/{CODE}", "other_site"),
        (f"https://xn--tg-fka.example/T/{CODE}", "other_site"),
        (f"https://t\u0430g.example/T/{CODE}", "other_site"),
        (f"https://{HOST}\\@evil.test/T/{CODE}", "other_site"),
        (f"https:\\\\{HOST}/T/{CODE}", "keyboard_or_foreign"),
        ("https:///T/" + CODE, "other_site"),
        # Ours, but no tag
        (f"https://{HOST}/status/abcdef", "other_page"),
        (f"https://{HOST}/", "other_page"),
        (f"https://{HOST}/T/../../admin/{CODE}", "other_page"),
        (f"https://{HOST}/T/..%2f{CODE}", "alphabet"),
        (f"https://{HOST}/T/{CODE}/edit", "other_page"),
        (f"https://{HOST}/T/%37K2M9QX4WBTCK", "alphabet"),
        (f"https://{HOST}/T/%2537K2M9QX4WBTCK", "alphabet"),
        (f"https://{HOST}/T/", "empty"),
        # Other things that symbols hold
        ("//evil.test", "foreign"),
        ("/\\evil.test", "foreign"),
        ("javascript:alert(1)", "foreign"),
        ("data:text/html,<script>", "foreign"),
        ("intent://scan/#Intent;end", "foreign"),
        ("WIFI:T:WPA;S:boat;P:secret;;", "foreign"),
        ("BEGIN:VCARD", "foreign"),
        ("MECARD:N:Doe;;", "foreign"),
        ("SMSTO:5550100:hello", "foreign"),
        ("tel:555-0100", "foreign"),
        ("mailto:a@example.org", "foreign"),
        ("geo:1,2", "foreign"),
        ("ftp://tag.example/T/" + CODE, "foreign"),
        ("https://id.example.org/8003/04012345111118", "other_site"),
        ("8003040123451111188", "length"),
        ("]C1" + CODE, "symbology"),
        ("]d2" + CODE, "symbology"),
        # Signs that nobody should type
        (CODE[:5] + "\x00" + CODE[5:], "control"),
        (CODE[:5] + "\u202e" + CODE[5:], "control"),
        (CODE[:5] + "\u200b" + CODE[5:], "control"),
        ("\u0417" + CODE[1:], "alphabet"),
        ("\"'<img src=x onerror=alert(1)>", "alphabet"),
        ("%", "alphabet"),
        (".*", "alphabet"),
        ("' OR 1=1 --", "alphabet"),
        ("42", "length"),
        # Two tags at once
        (f"{CODE}\n{OTHER}", "several"),
        (f"{URL}https://{HOST}/T/{OTHER}", "several"),
        (f"{CODE} {OTHER}", "several"),
        (f"{CODE}\nsomething else", "several"),
        # A scanner set to another keyboard
        ("httpsÖ--TAG.EXAMPLE-T-7K2M9QX4WBTCK", "keyboard"),
        ("httpsM!!TQG:EXQ?PLE!T!&", "keyboard"),
        ("httpsÑ--TAG.EXAMPLE-T-7K2M9QX4WBTCK", "keyboard"),
        ("TESTßZYAQWMÖ-ß", "keyboard"),
        ("TEST)YWQAZ?M!)", "keyboard"),
        ("TEST*??????;;;", "keyboard"),
        (codes.SCANNER_TEST, "scanner_right"),
        (codes.SCANNER_TEST.lower() + "\r", "scanner_right"),
        # An older or foreign way of writing a code
        ("V1:" + CODE, "foreign"),
    ],
)
def test_anything_else_is_refused_by_name_and_shown_harmlessly(text: str, reason: str) -> None:
    refused = extract(text, OURS)
    assert isinstance(refused, Refused)
    assert refused.reason in reason.split("_or_")
    assert refused.says.endswith(".")
    assert len(refused.shown) <= 81 + 6 * 80
    assert refused.shown.isprintable()


def test_a_spanish_and_a_german_scanner_are_told_apart() -> None:
    german = extract("TESTßZYAQWMÖ-ß", OURS)
    spanish = extract("TEST'YZAQWMÑ-'", OURS)
    assert isinstance(german, Refused)
    assert isinstance(spanish, Refused)
    assert "German" in german.says
    assert "Spanish" in spanish.says


def test_a_wrong_check_symbol_comes_with_what_it_may_have_been() -> None:
    refused = extract(CODE.replace("B", "8"), OURS)
    assert isinstance(refused, Refused)
    assert CODE in refused.maybe


def test_a_code_that_serves_one_installation_means_nothing_at_another() -> None:
    refused = extract("https://demo.example/T/" + CODE, OURS)
    assert isinstance(refused, Refused)
    assert refused.reason == "other_site"


@given(st.text(max_size=120))
def test_no_text_breaks_the_extractor_and_what_it_finds_always_checks(text: str) -> None:
    result = extract(text, OURS)
    if isinstance(result, Found):
        assert codes.is_code(result.code)
    else:
        assert result.shown.isprintable()


@given(st.sampled_from(seeded_codes(50)), st.integers(0, 12), st.sampled_from(codes.ALPHABET))
def test_a_misread_symbol_inside_an_address_is_never_accepted(
    code: str, place: int, other: str
) -> None:
    spoilt = code[:place] + other + code[place + 1 :]
    result = extract(f"https://{HOST}/T/{spoilt}", OURS)
    assert isinstance(result, Found) == (spoilt == code)


def test_a_percent_encoded_code_is_never_decoded() -> None:
    encoded = "".join(f"%{ord(sign):02X}" for sign in CODE)
    assert urllib.parse.unquote(encoded) == CODE
    refused = extract(f"https://{HOST}/T/{encoded}", OURS)
    assert isinstance(refused, Refused)


GERMAN = str.maketrans("YZyz-:/", "ZYzy\u00df\u00d6-")
FRENCH = str.maketrans("AQZWMaqzwm:/-.", "QAWZ?qawz,M!):")


@pytest.mark.parametrize("layout", [GERMAN, FRENCH])
def test_a_tag_typed_with_a_wrong_keyboard_layout_is_never_taken_for_another(
    layout: dict[int, int | str],
) -> None:
    for code in seeded_codes(1_000, seed=41):
        result = extract(f"https://{HOST.upper()}/T/{code}".translate(layout), OURS)
        assert isinstance(result, Refused)
        assert result.reason == "keyboard"
