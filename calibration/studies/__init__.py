"""Studies: how far the model and the inference can be trusted, printed as tables."""
