"""The unit fitted to its clean visits, and what it predicts."""
