"""The steady operating point of a unit, at any weather and with any faults."""
