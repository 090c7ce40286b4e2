"""What fouling costs, and when to clean, as figures, rows and sentences."""
