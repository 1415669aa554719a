"""The book: the plant, its products, stock and orders, as one value that came from one workbook."""
