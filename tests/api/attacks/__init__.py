"""Attacks on a running service, each in a module of its own, with the name by which ``python -m tests.api.attacks`` runs it."""
