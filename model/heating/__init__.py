"""A heat pump in winter: the cycle the other way round, frost and defrost, and its season."""
