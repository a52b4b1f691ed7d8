"""Every command that asks about a scenario, run on random scenarios in which something has happened: none ends in a defect."""
