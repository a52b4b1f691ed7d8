"""What goes with a sequence: preparation, starters, coverage, the change notice."""
