"""What goes with a sequence: preparation, starters, coverage, assessments, the change notice."""
