"""Numbers that follow from a key and names, and codes of letters that spell a number."""

import hashlib
import hmac

LETTERS = "BCDFGHJKLMNPQRSTVWXZ"
"""Letters only, as spreadsheets turn codes such as 12E345 into numbers; no vowels, so that no code is a word."""


def keyed_number(key: str, *names: str) -> int:
    """A number of 64 bits that follows from a key and names, the same on every machine (HMAC-SHA-256, RFC 2104).

    >>> keyed_number("7", "kai") == keyed_number("7", "kai") != keyed_number("7", "lea")
    True
    """
    message = "\x1f".join(names).encode()
    return int.from_bytes(hmac.new(key.encode(), message, hashlib.sha256).digest()[:8], "big")


def letters(number: int, count: int) -> str:
    """A number as a code of `count` letters.

    >>> letters(21, 3)
    'CCB'
    """
    return "".join(LETTERS[number // len(LETTERS) ** place % len(LETTERS)] for place in range(count))
