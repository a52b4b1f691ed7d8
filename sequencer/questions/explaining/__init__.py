"""Why there is no sequence, what would make one, and why a lesson lies where it does."""
