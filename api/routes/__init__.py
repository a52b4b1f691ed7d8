"""Short handlers, one module per resource."""
