"""Bounded readers of tables, logs and weather files."""
