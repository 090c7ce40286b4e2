"""Properties of moist air and of refrigerants."""
