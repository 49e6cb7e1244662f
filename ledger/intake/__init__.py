"""Files in: what a person or another program wrote, read strictly into entries for the book."""
