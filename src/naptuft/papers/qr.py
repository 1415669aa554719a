"""The square code of a work order's number, for the scanner on the floor."""

from __future__ import annotations

import io

QUIET_ZONE = 4
"""Modules left white around the code (ISO/IEC 18004, 2006, clause 5.3.8)."""


PIXELS = 8
"""Pixels of a module's side, so that a printer that smooths pictures leaves the edges sharp."""


def modules(text: str, error: str = "") -> tuple[tuple[bool, ...], ...]:
    """Rows of dark (True) and light modules of a QR code, without its quiet zone.

    error  level of error correction: L, M, Q or H recover about 7, 15, 25 or 30 % (ISO/IEC 18004);
           empty: M, or better where that makes the code no larger
    Never the smaller micro form, which many scanners cannot read.

    >>> len(modules("W-0042"))
    21
    """
    import segno

    code = segno.make_qr(text, error=error or "M", boost_error=not error)
    return tuple(tuple(bool(cell) for cell in row) for row in code.matrix)


def picture(text: str) -> bytes:
    """The code as PNG with its quiet zone, black on white.

    >>> picture("W-0042")[1:4]
    b'PNG'
    """
    import segno

    file = io.BytesIO()
    segno.make_qr(text, error="M").save(file, kind="png", scale=PIXELS, border=QUIET_ZONE)
    return file.getvalue()
