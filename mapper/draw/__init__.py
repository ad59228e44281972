"""How things look, once, for paper and screen alike."""
