"""A scenario on another calendar, and the next term begun from this one."""
