"""One presenter for each result of the calibration: figures and sentences."""
