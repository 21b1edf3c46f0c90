"""Header: which line of a sheet names its columns, and what each name means."""
