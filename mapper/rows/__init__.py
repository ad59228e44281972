"""From the harvester's track to windrow lines with load, and rows from a known pattern."""
