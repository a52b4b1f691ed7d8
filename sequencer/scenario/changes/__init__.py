"""Named changes of a scenario: how a repair or a what-if is written, what it makes of a scenario, says and costs."""
