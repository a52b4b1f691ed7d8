"""Exact plans of one class, period by period: a dynamic programme beside the solver (see the README)."""
