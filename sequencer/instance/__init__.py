"""A scenario read whole and turned into frozen facts: calendar, lessons of each class, numbers in force."""
