"""Table: typed rows of all files to the set table, with exercises, kilograms, order, roles and doubts."""
