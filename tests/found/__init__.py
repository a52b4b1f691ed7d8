"""Faults that were found by using the product: each file here showed one, and a test says what should happen instead."""
