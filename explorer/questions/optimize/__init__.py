"""The design that makes a wish largest or smallest within the limits."""
