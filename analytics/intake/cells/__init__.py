"""Cells: what one text says, as a number, a date, a load, reps, a word; pure grammar, no tables."""
