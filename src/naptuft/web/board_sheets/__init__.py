"""The sheets beside the week board: odds, reasons, changes, promises, materials, capacity."""
