"""One file for each change of the store's tables, oldest first."""
