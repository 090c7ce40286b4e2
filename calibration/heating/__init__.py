"""A case's heat pump in winter: fit to its nameplate, losses by fouling, cost."""
