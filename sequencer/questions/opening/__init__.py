"""The opening that several futures share until it is known which of them comes."""
