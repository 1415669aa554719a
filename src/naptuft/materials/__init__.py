"""Property tables, one file a kind of material; every value carries its source."""
