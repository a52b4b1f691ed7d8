"""Attacks on a running service, each in a module of its own: ``python -m tests.api.attacks [NAME ...]`` runs them and prints a table."""
