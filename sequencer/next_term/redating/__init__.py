"""A scenario put on another calendar."""
