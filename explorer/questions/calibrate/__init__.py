"""Learn from firings: what the unknowns are once readings are held against the model."""
