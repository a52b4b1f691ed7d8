"""The workbook: written to be filled in, and read back as a scenario or a plan."""
