"""The specification as tests: one file per rule, each answer worked out by hand beside its assertion."""
