"""Answers as text, JSON, HTML, tables and calendars."""
