"""Everything inferred from readings: case files, measured performance, clean-coil fit, faults."""
