"""What the rules post into the model."""
