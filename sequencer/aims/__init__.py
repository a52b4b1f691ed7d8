"""The aims: what each comes to in a sequence, counted in plain Python."""
