"""Workbooks, tables, records and calendars: read in and written out."""
