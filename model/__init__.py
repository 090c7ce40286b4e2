"""Forward physics of an air conditioner and what follows from it: SI units, no files, no screens."""
