"""The web face: every page a drawing sheet, served from this PC, with a REST door beside it."""
