"""Terms that are kept: in a file of SQLite, or in a database of PostgreSQL. Nothing of it is loaded where nothing is kept."""
