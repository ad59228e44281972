"""The printed pages."""
