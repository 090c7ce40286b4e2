"""Charts, described once and drawn for the screen and for paper."""
