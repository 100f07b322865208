"""How sure a prediction is, for one future firing."""
