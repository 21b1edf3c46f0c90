"""Rows: named texts to typed rows, one row a set, and the cells that keep a row out."""
