"""What a study says besides its inputs: for each section its keys, what it means, and the way from one to the other."""
