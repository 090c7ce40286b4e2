"""A heat pump in winter, as figures, rows and sentences."""
