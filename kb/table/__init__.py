"""Size formats as a table, one row for each: drafts from the table of a plant, and a book as a table."""
