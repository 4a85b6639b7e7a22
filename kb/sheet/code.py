"""The sheet code: five signs of a fingerprint of everything the sheet says, and of nothing else.

The signs are C D F H J K M R T W X Y 3 4 7 9. Left out are those that a bad copy, a tired eye or a pen
turns into one another: 0 O Q, 1 I L, 2 Z, 5 S, 6 8 B G, U V, E (F), N (M), P (R); and the vowels, so that
no word comes up. Sixteen signs make a million codes, so a stale sheet passes by chance once in a million.
"""

from __future__ import annotations

import hashlib
import json

from kb.book.load import Book
from kb.book.records_floor import SheetCode, SheetCodes
from kb.sheet.model import Content, keys_of

SIGNS = "CDFHJKMRTWXY3479"

TEMPLATE = "1"
"""Raised when the sheet's fixed words or its layout come to mean something else."""

_LENGTH, _DASH = 5, 3

DRAFT_SIGN = "Z"
"""Stands before the code of a draft; no released code has it."""


def digest(content: Content) -> str:
    """The fingerprint of what a sheet says.

    Returns:
        64 hexadecimal digits; equal contents have equal ones on every machine and day.
    """
    said = json.dumps(
        {"template": TEMPLATE, "content": content},
        default=keys_of,
        ensure_ascii=True,
        sort_keys=True,
        separators=(",", ":"),
    )
    return hashlib.sha256(said.encode("ascii")).hexdigest()


def draft_digest(fingerprint: str) -> str:
    """The fingerprint of a draft: another one, so that a draft's code is not that of its release.

    Returns:
        64 hexadecimal digits.
    """
    return hashlib.sha256(f"draft {fingerprint}".encode("ascii")).hexdigest()


def code(fingerprint: str, *, draft: bool = False) -> str:
    """The signs people compare.

    Args:
        fingerprint: a digest
        draft: whether it is that of a draft

    Returns:
        Three signs, a hyphen, two signs; for a draft its own sign and a hyphen before them.

    Example:
        >>> code("0123f" + 59 * "0")
        'CDF-H9'
        >>> code("0123f" + 59 * "0", draft=True)
        'Z-CDF-H9'
    """
    signs = "".join(SIGNS[int(digit, 16)] for digit in fingerprint[:_LENGTH])
    return f"{DRAFT_SIGN}-" * draft + f"{signs[:_DASH]}-{signs[_DASH:]}"


def plans_code(content: Content) -> str:
    """The code of the reaction plans alone: one sign, a hyphen, four signs, so that none is a sheet's."""
    told = json.dumps([content.out_of_limits, content.reactions], default=keys_of, sort_keys=True)
    signs = code(hashlib.sha256(told.encode("ascii")).hexdigest()).replace("-", "")
    return f"{signs[:1]}-{signs[1:]}"


# --- the register of codes --------------------------------------------------------------------


def codes(book: Book) -> SheetCodes:
    """The register; empty when the book has none."""
    spec = book.only("sheet-codes")
    return spec.record if spec else SheetCodes(codes=())


def issues(book: Book, ident: str, line: str) -> tuple[SheetCode, ...]:
    """All issues of one sheet, the oldest first."""
    return tuple(one for one in codes(book).codes if one.format == ident and one.line == line)
