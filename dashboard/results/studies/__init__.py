"""Results of the studies: accuracy of the model, of the ranges and of the findings."""
