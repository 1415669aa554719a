"""Handles and moulded parts: moulding, coats and drying air."""

from naptuft.handle.coats import HANDLE_COATS
from naptuft.handle.design import HANDLE, HANDLE_MOULDING
from naptuft.handle.drying_air import DRYING_AIR
from naptuft.handle.part import MOULDED_PART

CALCULATIONS = (HANDLE, HANDLE_MOULDING, HANDLE_COATS, DRYING_AIR, MOULDED_PART)
