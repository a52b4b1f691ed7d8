"""A sequence, what it comes to, and how two of them differ; plain Python."""
