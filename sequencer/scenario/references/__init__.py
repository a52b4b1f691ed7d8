"""Checks across entries: what a scenario says of itself in two places has to agree."""
