"""The futures of a scenario side by side: what each what-if would do to the sequence."""
