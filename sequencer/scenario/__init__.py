"""What a user writes: read with the place of every value, checked across its entries, written back."""
