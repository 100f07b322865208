"""The design that makes a result largest or smallest within the limits."""
