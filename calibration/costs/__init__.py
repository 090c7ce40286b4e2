"""What fouling costs this unit in a year, and when cleaning pays."""
