"""The model and the search: the only code that knows the solver."""
