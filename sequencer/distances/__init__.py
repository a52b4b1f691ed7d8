"""Distances that suit a date on which knowledge is to be available: a published table, and where lessons are reckoned to lie."""
