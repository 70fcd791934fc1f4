"""Tag codes: the code itself, what a scanner or a person sent, and scanners set up wrongly."""

from labels.codes.code import (
    ALPHABET,
    LENGTH,
    LOOK_ALIKES,
    RANDOM_BITS,
    CodeError,
    CodeReason,
    check_symbol,
    compact,
    did_you_mean,
    fold,
    is_code,
    new_code,
    show,
)
from labels.codes.extract import Found, Refusal, Refused, extract
from labels.codes.keyboards import SCANNER_TEST, layout_of

__all__ = [
    "ALPHABET",
    "LENGTH",
    "LOOK_ALIKES",
    "RANDOM_BITS",
    "SCANNER_TEST",
    "CodeError",
    "CodeReason",
    "Found",
    "Refusal",
    "Refused",
    "check_symbol",
    "compact",
    "did_you_mean",
    "extract",
    "fold",
    "is_code",
    "layout_of",
    "new_code",
    "show",
]
