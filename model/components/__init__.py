"""The parts of one unit: compressor, coils, expansion device, fans, charge."""
