"""One script a page."""
