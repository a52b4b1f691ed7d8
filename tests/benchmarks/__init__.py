"""The benchmark, run by name: ``python -m tests.benchmarks``. It is no part of the tests; see ``__main__.py``."""
