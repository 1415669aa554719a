"""From a checked book to a plan: explode, allocate, cut, schedule, and an independent check."""
