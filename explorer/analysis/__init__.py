"""Analysis of samples: arrays and callables only, so that the same code is checked on known functions."""
