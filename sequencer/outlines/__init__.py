"""The inside of lessons: outlines of their parts, and where a unit's content is cut into lessons."""
