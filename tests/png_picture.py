"""Reads a PNG, as the printer of papers makes them, into rows of grey."""

from __future__ import annotations

import struct
import zlib

import numpy as np
from numba import njit


def grey_of(png: bytes) -> np.ndarray:
    """Brightness of every pixel, 0 to 255; shape (height, width). Source: W3C PNG specification, filters."""
    assert png[:8] == b"\x89PNG\r\n\x1a\n"
    at, packed = 8, b""
    width = height = channels = 0
    while at < len(png):
        length, kind = struct.unpack(">I4s", png[at : at + 8])
        body = png[at + 8 : at + 8 + length]
        if kind == b"IHDR":
            width, height, depth, colour, _, _, interlace = struct.unpack(">IIBBBBB", body)
            channels = {0: 1, 2: 3, 4: 2, 6: 4}[colour]
            assert (depth, interlace) == (8, 0)
        elif kind == b"IDAT":
            packed += body
        at += 12 + length
    raw = np.frombuffer(zlib.decompress(packed), np.uint8).reshape(height, 1 + width * channels)
    rows = np.zeros((height, width * channels), np.uint8)
    _unfilter(raw, rows, channels)
    return rows.reshape(height, width, channels)[:, :, :3].mean(axis=2).astype(np.uint8)


@njit
def _unfilter(raw, rows, step):
    """Undo the filter of each line: each byte was written less a guess from its left, upper and corner neighbours."""
    for i in range(rows.shape[0]):
        kind = raw[i, 0]
        for x in range(rows.shape[1]):
            left = int(rows[i, x - step]) if x >= step else 0
            up = int(rows[i - 1, x]) if i else 0
            corner = int(rows[i - 1, x - step]) if i and x >= step else 0
            guess = 0
            if kind == 1:
                guess = left
            elif kind == 2:
                guess = up
            elif kind == 3:
                guess = (left + up) // 2
            elif kind == 4:
                slope = left + up - corner
                a, b, c = abs(slope - left), abs(slope - up), abs(slope - corner)
                guess = left if a <= b and a <= c else up if b <= c else corner
            rows[i, x] = (int(raw[i, x + 1]) + guess) % 256
