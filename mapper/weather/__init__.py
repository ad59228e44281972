"""The forecast, wind and its changes, fire danger, moisture, sun, stability, smoke."""
