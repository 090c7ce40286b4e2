"""Many units and the crew's plan, as figures, rows and sentences."""
