"""A ladder of firings on the way: which steps to fire, what they leave, whether it is worth climbing."""
