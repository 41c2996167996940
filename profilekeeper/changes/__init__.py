"""What is different between two profiles, how to apply it, and how to merge three."""
