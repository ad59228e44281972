"""Plan the burning of narrow harvest windrows: rows, breaks, exposed edges, order, printed sheets."""

__version__ = "0.1.0"
