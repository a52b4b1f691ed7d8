"""Cross-checks of optimality against two searches written from the rules alone.

Nothing here imports the product, except the test files, which call its public functions. The readers of the scenario
(`facts`), the rules (`rules`), the exhaustive search and the integer programme are a second reading of the same written
rules: where the two readings differ, one of them is wrong.
"""
