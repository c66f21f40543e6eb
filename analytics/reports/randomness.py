"""How much randomness a key can hold at most, judged by what it is made of."""

import base64
import math
import re
from collections.abc import Sequence
from itertools import pairwise

COPIED_BITS = 24  # a run of so many bits comes twice by chance in one key of 50,000
_UUID = re.compile("[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}", re.IGNORECASE)
_UUID_BITS = 122.0  # RFC 9562, version 4: six of 128 bits are fixed
_BASE64 = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/"
_ROWS = "qwertyuiopasdfghjklzxcvbnm/qwertzuiop/azertyuiop/qsdfghjklm/wxcvbn"
_KEYBOARD = f"{_ROWS}/{_ROWS.upper()}/1234567890"
# Letters of English per thousand, from e to z: common knowledge of cryptanalysis,
# values from memory, rounded.
_ENGLISH = dict(
    zip(
        "etaoinshrdlcumwfgypbvkjxqz",
        (127, 91, 82, 75, 70, 67, 63, 61, 60, 43, 40, 28, 28, 24, 24, 22, 20, 20, 19,
         15, 10, 8, 2, 2, 1, 1),
        strict=True,
    )
)  # fmt: skip


def random_bits(key: bytes) -> float:
    """Bits of randomness a key may hold, and none for words and dates.

    Parameters
    ----------
    key : bytes
        Random bytes, or random digits written as hexadecimal or base64.

    Returns
    -------
    bits : float
        Length times what one digit holds, less what repeats or counts on. An upper
        bound: no measure tells a digest of a word from a random number. [1]
    """
    text = _text(key)
    if text is None:
        return _unrepeated([*key], 256)
    if _UUID.fullmatch(text):
        return _UUID_BITS
    if re.fullmatch("[0-9a-fA-F]+", text):
        words = _text(bytes.fromhex(text[: len(text) // 2 * 2])) is not None
        if words or text.isdecimal():  # hexadecimal by chance: once in 3 million
            return 0.0
        return _unrepeated([int(c, 16) for c in text], 16)
    digits = text.rstrip("=").translate(str.maketrans("-_", "+/"))
    if not re.fullmatch("[A-Za-z0-9+/]+", digits) or _reads_like_words(digits):
        return 0.0
    if _text(base64.b64decode(digits + "=" * (-len(digits) % 4 % 3))) is not None:
        return 0.0  # words written as base64
    size = 32 if re.fullmatch("[A-Z2-7]+", digits) else 64
    keyboard = [_BASE64.index(c) for c in _KEYBOARD]
    return _unrepeated([_BASE64.index(c) for c in digits], size, known=keyboard)


def _text(key: bytes) -> str | None:
    try:
        text = key.decode("utf-8")
    except UnicodeDecodeError:
        return None
    return text if text.isprintable() else None


def _unrepeated(
    digits: Sequence[int], size: int, *, known: Sequence[int] = ()
) -> float:
    """Bits of the digits that neither repeat a run nor go on counting."""
    kinds = len(set(digits))
    if kinds <= min(size, len(digits)) / 2:  # by chance in one key of 300,000
        size = kinds
    bits = math.log2(size) if size > 1 else 0.0
    run = math.ceil(COPIED_BITS / bits) if bits else 1
    steps = [(b - a) % 256 for a, b in pairwise(digits)]
    return bits * min(_new(digits, run, known), 1 + _new(steps, run))


def _new(digits: Sequence[int], run: int, known: Sequence[int] = ()) -> int:
    """How many digits are in no run that was there before, or is known."""
    seen: set[tuple[int, ...]] = set()
    copied: set[int] = set()
    for start in range(-len(known), len(digits) - run + 1):
        window = tuple([*known, *digits][start + len(known) :][:run])
        if start >= 0 and window in seen:
            copied.update(range(start, start + run))
        seen.add(window)
    return len(digits) - len(copied)


def _reads_like_words(digits: str) -> bool:
    """Tell whether English explains the digits better than chance does."""
    gain = 0.0
    for c in digits:
        share = _ENGLISH.get(c.lower(), 0) / 1000
        if c.islower():
            chance = 0.8 * share
        else:
            chance = 0.1 * share if c.isupper() else 0.1 / 12
        gain += math.log2(64 * chance)
    return gain > 0
