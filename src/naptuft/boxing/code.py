"""GS1 check digits: GTIN of 8, 12, 13 or 14 digits, and the 18-digit code of a carton or pallet."""

from __future__ import annotations

from naptuft.errors import DesignError, Fault

GTIN_LENGTHS = (8, 12, 13, 14)
SSCC_LENGTH = 18


def check_digit(digits: str) -> int:
    """The check digit that belongs after the given digits.

    From the right the digits count 3, 1, 3, 1 ...; the digit makes their sum up to a multiple of ten.
    digits  without the check digit: 7, 11, 12 or 13 for a GTIN, 17 for the code of a carton or pallet
    Raises DesignError for anything but digits, or another length.
    Source: GS1 General Specifications, section 7.9.1, standard check digit calculation (from memory).

    >>> check_digit("629104150021")
    3
    """
    allowed = tuple(length - 1 for length in (*GTIN_LENGTHS, SSCC_LENGTH))
    if not _plain(digits) or len(digits) not in allowed:
        raise DesignError(
            Fault(
                "digits",
                digits,
                "7, 11, 12, 13 or 17 digits",
                "give the number without its check digit, without spaces or hyphens",
            )
        )
    return -_weighed(digits) % 10


def valid_gtin(code: str) -> bool:
    """True for 8, 12, 13 or 14 digits whose last one is their check digit.

    >>> valid_gtin("6291041500213"), valid_gtin("6291041500218"), valid_gtin("629104150021")
    (True, False, False)
    """
    return _plain(code) and len(code) in GTIN_LENGTHS and check_digit(code[:-1]) == int(code[-1])


def valid_sscc(code: str) -> bool:
    """True for 18 digits whose last one is their check digit (serial shipping container code).

    >>> valid_sscc("376104250021234569")
    True
    """
    return _plain(code) and len(code) == SSCC_LENGTH and check_digit(code[:-1]) == int(code[-1])


def carton_gtin(item: str, indicator: int) -> str:
    """The 14-digit code of a carton of items: an indicator 1 to 8, the item's digits, a new check digit.

    item       a valid GTIN of 8, 12 or 13 digits
    Raises DesignError for an invalid item or indicator.
    Source: GS1 General Specifications, section 2.1.6, trade items of a fixed measure (from memory).

    >>> carton_gtin("6291041500213", 1)
    '16291041500210'
    """
    faults = []
    if not valid_gtin(item) or len(item) == 14:
        faults.append(Fault("item code", item, "a GTIN of 8, 12 or 13 digits", "correct its digits or check digit"))
    if not 1 <= indicator <= 8:
        faults.append(Fault("indicator", indicator, "1 to 8", "use another digit for each size of carton"))
    if faults:
        raise DesignError(*faults)
    body = f"{indicator}{item[:-1].zfill(12)}"
    return body + str(check_digit(body))


def _plain(code: str) -> bool:
    return code.isascii() and code.isdigit()


def _weighed(digits: str) -> int:
    return sum(int(digit) * (3 if place % 2 == 0 else 1) for place, digit in enumerate(reversed(digits)))
