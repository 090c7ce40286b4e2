"""A year of weather and load: running time, energy and money."""
