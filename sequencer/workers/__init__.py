"""Processes that solve apart from the program that asks."""
