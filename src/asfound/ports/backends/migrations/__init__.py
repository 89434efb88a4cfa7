"""Migrations of the store's tables, run at opening."""
