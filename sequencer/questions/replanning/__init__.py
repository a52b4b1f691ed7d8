"""A plan made again with as little of it moved as can be, and what each further move would gain."""
