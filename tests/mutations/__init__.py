"""Small changes of what the product means, each of which some test must notice: ``python -m tests.mutations``.

A mutation replaces one statement in a copy of the project; the tests named for it must then fail. Where a change makes no
difference to any answer, a sentence says why. ``tests/test_mutations.py`` holds the list to the code: every statement stands
exactly once in its file.
"""
