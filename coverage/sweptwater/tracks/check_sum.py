"""The check sum of FIT: a CRC of 16 bits, of many pieces at once.

References
----------
FIT protocol (its public description, from memory): the CRC with polynomial
0x8005, bits reversed (0xA001), beginning from 0, of all bytes of a file before it.
"""

from functools import cache
from math import isqrt

import numpy as np
import numpy.typing as npt

_POLYNOMIAL = 0xA001


def crc16(data: bytes) -> int:
    """Return the CRC of bytes.

    The sum is linear: pieces are summed side by side from 0, then put together, each
    sum first carried on over as many zeros as bytes follow it.

    References
    ----------
    The catalogue of CRCs by Greg Cook (from memory): CRC-16/ARC of "123456789".

    Examples
    --------
    >>> hex(crc16(b"123456789"))
    '0xbb3d'
    """
    pieces = isqrt(len(data)) + 1
    length = -(-len(data) // pieces)
    # Zeros before a beginning from 0 change nothing.
    padded = np.zeros(pieces * length, dtype=np.uint8)
    padded[len(padded) - len(data) :] = np.frombuffer(data, np.uint8)
    columns = np.ascontiguousarray(padded.reshape(pieces, length).T)
    sums = np.zeros(pieces, dtype=np.uint16)
    carried = np.array([np.arange(256), np.arange(256) << 8], dtype=np.uint16)
    table = _table()
    for column in columns:
        sums = sums >> 8 ^ table[sums & 0xFF ^ column]
        carried = carried >> 8 ^ table[carried & 0xFF]
    low, high = carried.tolist()
    total = 0
    for piece in sums.tolist():
        total = low[total & 0xFF] ^ high[total >> 8] ^ piece
    return total


@cache
def _table() -> npt.NDArray[np.uint16]:
    """Return what each byte alone sums to."""
    sums = np.arange(256, dtype=np.uint16)
    for _ in range(8):
        sums = np.where(sums & 1, sums >> 1 ^ _POLYNOMIAL, sums >> 1).astype(np.uint16)
    return sums
