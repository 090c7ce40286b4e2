"""How fouling grows and when cleaning pays."""
