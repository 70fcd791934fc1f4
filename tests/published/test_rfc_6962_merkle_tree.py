"""The hash tree against the reference test vectors of RFC 6962 implementations.

Eight inputs and the roots after each, as published with the certificate transparency reference
code: from memory; each root is also worked out here from the definition in RFC 6962 section 2.1.
"""

import hashlib

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cylinders import merkle

INPUTS = tuple(
    bytes.fromhex(text)
    for text in (
        "",
        "00",
        "10",
        "2021",
        "3031",
        "40414243",
        "5051525354555657",
        "606162636465666768696a6b6c6d6e6f",
    )
)
ROOTS = (
    "6e340b9cffb37a989ca544e6bb780a2c78901d3fb33738768511a30617afa01d",
    "fac54203e7cc696cf0dfcb42c92a1d9dbaf70ad9e621f4bd8d98662f00e3c125",
    "aeb6bcfe274b70a14fb067a5e5578264db0fa9b51af5e0ba159158f329e06e77",
    "d37ee418976dd95753c1c73862b9398fa2a2cf9b4ff0fdfe8b30cd95209614b7",
    "4e3bbb1f7b478dcfe71fb631631519a3bca12c9aefca1612bfce4c13a86264d4",
    "76e67dadbcdf1e10e1b74ddc608abd2f98dfb16fbce75277b5232a127f2087ef",
    "ddb89be403809e325750d3d263cd78929c2942b7942a34b77e122c9594a74c8c",
    "5dc9da79a70659a9ad559cb701ded9a2ab9d823aad2f4960cfe370eff4604328",
)


def by_definition(entries: tuple[bytes, ...]) -> bytes:
    """MTH of RFC 6962 section 2.1, word for word."""
    if not entries:
        return hashlib.sha256(b"").digest()
    if len(entries) == 1:
        return hashlib.sha256(b"\x00" + entries[0]).digest()
    half = 1
    while half * 2 < len(entries):
        half *= 2
    left, right = by_definition(entries[:half]), by_definition(entries[half:])
    return hashlib.sha256(b"\x01" + left + right).digest()


@pytest.mark.parametrize("count", range(1, 9))
def test_the_roots_are_the_published_ones(count: int) -> None:
    assert merkle.tree_root(INPUTS[:count]).hex() == ROOTS[count - 1]


@given(st.lists(st.binary(max_size=4), max_size=40))
def test_the_root_is_the_one_of_the_definition(entries: list[bytes]) -> None:
    assert merkle.tree_root(entries) == by_definition(tuple(entries))


def test_every_beginning_of_a_list_is_proved_and_nothing_else() -> None:
    entries = [bytes([number]) for number in range(33)]
    roots = [merkle.tree_root(entries[:size]) for size in range(34)]
    for size in range(1, 34):
        for first in range(1, size + 1):
            proof = merkle.consistency_proof(first, entries[:size])
            assert merkle.is_consistent(roots[first], first, roots[size], size, proof)
            other = bytes(32)
            assert not merkle.is_consistent(other, first, roots[size], size, proof)
            if first < size:
                assert not merkle.is_consistent(roots[first], first, other, size, proof)
                assert not merkle.is_consistent(roots[first], first, roots[size], size, proof[1:])
                longer = [*proof, other]
                assert not merkle.is_consistent(roots[first], first, roots[size], size, longer)


def test_the_published_proof_from_six_to_eight_holds() -> None:
    """The hashes of the reference proof, from memory; they follow from the tree as well."""
    proof = [step.hex() for step in merkle.consistency_proof(6, INPUTS)]
    assert proof == [
        "0ebc5d3437fbe2db158b9f126a1d118e308181031d0a949f8dededebc558ef6a",
        "ca854ea128ed050b41b35ffc1b87b8eb2bde461e9e3b5596ece6b9d5975a0ae0",
        "d37ee418976dd95753c1c73862b9398fa2a2cf9b4ff0fdfe8b30cd95209614b7",
    ]


@pytest.mark.parametrize("first", [0, 9, -1])
def test_there_is_no_proof_from_nothing_or_from_the_future(first: int) -> None:
    with pytest.raises(ValueError, match="no proof"):
        merkle.consistency_proof(first, INPUTS)
