"""What a user may ask of a scenario: solve, judge, explain, compare, share an opening, plan again, price."""
