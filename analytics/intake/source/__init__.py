"""Source: files of a roster folder to records of cells, each with its true line."""
