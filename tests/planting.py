"""A fault planted in the bytes of a file."""

import re


def planted(data: bytes, old: bytes, new: bytes) -> bytes:
    """The file with the first place that a pattern finds replaced; there must be one, and it must become another."""
    other, count = re.subn(old, new, data, count=1)
    assert count == 1
    assert other != data
    return other
