"""The printed report."""
