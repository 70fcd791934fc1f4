"""A hash tree over a growing list, after RFC 6962 section 2.1; pure, no Django.

Its root stands for the whole list. A consistency proof shows somebody who kept only an old root
that the list of then is the beginning of the list of now: that nothing in it was cut, changed or
put between.

>>> tree_root([]).hex()[:16]
'e3b0c44298fc1c14'
>>> entries = [b"one", b"two", b"three"]
>>> proof = consistency_proof(2, entries)
>>> is_consistent(tree_root(entries[:2]), 2, tree_root(entries), 3, proof)
True
"""

import hashlib
from collections.abc import Iterable, Sequence


def leaf_hash(entry: bytes) -> bytes:
    """The hash of one entry: SHA-256 over 0x00 and the entry, so that no leaf is also a node."""
    return hashlib.sha256(b"\x00" + entry).digest()


def node_hash(left: bytes, right: bytes) -> bytes:
    """The hash of a node: SHA-256 over 0x01 and its two halves."""
    return hashlib.sha256(b"\x01" + left + right).digest()


def tree_root(entries: Iterable[bytes]) -> bytes:
    """The root of the tree over ``entries``, read once; it keeps one hash for each level."""
    whole: list[tuple[int, bytes]] = []  # complete subtrees, the largest first: (leaves, hash)
    for entry in entries:
        leaves, top = 1, leaf_hash(entry)
        while whole and whole[-1][0] == leaves:
            leaves, top = 2 * leaves, node_hash(whole.pop()[1], top)
        whole.append((leaves, top))
    if not whole:
        return hashlib.sha256(b"").digest()
    _, root = whole.pop()
    while whole:
        root = node_hash(whole.pop()[1], root)
    return root


def consistency_proof(first: int, entries: Sequence[bytes]) -> list[bytes]:
    """The hashes which show that the first ``first`` entries came before all of ``entries``.

    Raises ``ValueError`` unless ``0 < first <= len(entries)``.
    """
    if not 0 < first <= len(entries):
        raise ValueError(f"no proof from {first} to {len(entries)} entries")
    return _subproof(first, entries, known=True)


def _subproof(first: int, entries: Sequence[bytes], *, known: bool) -> list[bytes]:
    if first == len(entries):
        return [] if known else [tree_root(entries)]
    half = _largest_power_below(len(entries))
    if first <= half:
        return [*_subproof(first, entries[:half], known=known), tree_root(entries[half:])]
    return [*_subproof(first - half, entries[half:], known=False), tree_root(entries[:half])]


def is_consistent(
    old_root: bytes, old_size: int, root: bytes, size: int, proof: Sequence[bytes]
) -> bool:
    """Whether ``proof`` shows the tree of ``old_size`` entries to be the beginning of the other.

    The steps are those of RFC 9162 section 2.1.4.2.
    """
    if old_size == size:
        return old_root == root and not proof
    if not 0 < old_size < size or not proof:
        return False
    path = list(proof)
    if old_size & (old_size - 1) == 0:
        path.insert(0, old_root)
    first, second = old_size - 1, size - 1
    while first & 1:
        first, second = first >> 1, second >> 1
    old = new = path[0]
    for step in path[1:]:
        if second == 0:
            return False
        if first & 1 or first == second:
            old, new = node_hash(step, old), node_hash(step, new)
            while not first & 1 and first:
                first, second = first >> 1, second >> 1
        else:
            new = node_hash(new, step)
        first, second = first >> 1, second >> 1
    return second == 0 and old == old_root and new == root


def _largest_power_below(count: int) -> int:
    return int(1 << (count - 1).bit_length() - 1)
