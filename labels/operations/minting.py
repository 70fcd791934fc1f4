"""New codes: drawn at random, drawn again when taken, each with its two-encoder symbol."""

import datetime as dt
from collections.abc import Callable

from django.db import IntegrityError, transaction

from labels import codes, qr
from labels.models import PrintRun, Tag

_MOST_TRIES = 20
#: More labels than this at once is a slip of the finger, not a print run.
MOST_IN_A_RUN = 5_000


def mint(
    *,
    count: int,
    host: str,
    at: dt.datetime,
    run: PrintRun | None = None,
    draw: Callable[[], int] | None = None,
) -> list[Tag]:
    """Mint ``count`` blank tags for ``host``, to be bound at their first scan.

    Raises ``ValueError`` for a count outside 1 to :data:`MOST_IN_A_RUN`,
    :class:`labels.qr.HostRefused` for a host that no tag can carry. A blank tag belongs to no
    cylinder, so there is no history to write to yet.
    """
    if not 1 <= count <= MOST_IN_A_RUN:
        raise ValueError(f"{count} tags: ask for 1 to {MOST_IN_A_RUN}")
    with transaction.atomic():
        return [_mint_one(host=host, at=at, run=run, draw=draw) for _ in range(count)]


def _mint_one(
    *,
    host: str,
    at: dt.datetime,
    run: PrintRun | None,
    draw: Callable[[], int] | None,
) -> Tag:
    for _ in range(_MOST_TRIES):
        code = codes.new_code(draw)
        symbol = qr.symbol(host, code)
        try:
            with transaction.atomic():
                return Tag.objects.create(
                    code=code,
                    bits=symbol.bits,
                    url=symbol.url,
                    mask=symbol.mask,
                    minted_at=at,
                    print_run=run,
                )
        except IntegrityError:
            # The unique index is the judge of "taken"; a check before would race.
            continue
    raise RuntimeError(f"{_MOST_TRIES} codes in a row were taken: the random source is stuck")
