"""The search for a design: candidates, judgement on fresh points, what stands in the way."""
