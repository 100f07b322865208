"""What all answers share: what an answer is made of, and how it becomes text, a page, JSON and CSV."""
