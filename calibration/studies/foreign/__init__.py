"""Invented units of another structure: what the ranges are worth where the model is wrong."""
