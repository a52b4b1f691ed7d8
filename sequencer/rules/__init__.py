"""The rules: what each forbids, and which wishes a sequence does not grant."""
