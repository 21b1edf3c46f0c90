"""Columns: what only the cells of a sheet tell of its columns, and the cells that stand elsewhere."""
