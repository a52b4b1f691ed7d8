"""The next term begun from this one and its sequence."""
