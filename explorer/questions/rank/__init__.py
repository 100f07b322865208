"""What makes a target unsure, and what the next test should pin down."""
