"""The case file and its vocabulary: keys, units, meters, checks."""
