"""Forms of a unit and its visits."""
