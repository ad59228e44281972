"""What happened on the night, and what it means for the next crop."""
