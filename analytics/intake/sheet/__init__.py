"""Sheet: records in any layout to one table of named text columns."""
