"""Named changes of a scenario: how a repair or a what-if is written, and what it makes of a scenario."""
