"""The inputs of a study: the words that it chooses, the numbers that they call for, and what these must obey."""
