"""What readings say by themselves, before any model."""
