"""Which fault a visit shows, and which reading is wrong."""
