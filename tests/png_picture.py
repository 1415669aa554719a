"""Reads a PNG, as the printer of papers makes them, into rows of grey."""

from __future__ import annotations

import struct
import zlib

import numpy as np


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
    above = np.zeros(width * channels, np.uint8)
    for i in range(height):
        above = rows[i] = _unfiltered(int(raw[i, 0]), raw[i, 1:], above, channels)
    return rows.reshape(height, width, channels)[:, :, :3].mean(axis=2).astype(np.uint8)


def _unfiltered(kind: int, line: np.ndarray, above: np.ndarray, step: int) -> np.ndarray:
    if kind == 0:
        return line
    if kind == 2:
        return line + above
    if kind == 1:
        return np.add.accumulate(line.reshape(-1, step), axis=0, dtype=np.uint8).reshape(-1)
    out = line.astype(int).copy()
    for x in range(len(out)):
        left = int(out[x - step]) if x >= step else 0
        up, corner = int(above[x]), int(above[x - step]) if x >= step else 0
        out[x] = (out[x] + ((left + up) // 2 if kind == 3 else _paeth(left, up, corner))) % 256
    return out.astype(np.uint8)


def _paeth(left: int, up: int, corner: int) -> int:
    guess = left + up - corner
    return min((left, up, corner), key=lambda near: abs(guess - near))
