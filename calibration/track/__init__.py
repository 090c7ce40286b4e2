"""Fouling over months: logs read in pieces, their steady stretches, one inference over time."""
