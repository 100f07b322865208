"""Designs beside each other, and which of their differences are real."""
