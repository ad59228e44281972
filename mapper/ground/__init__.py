"""The geometry of safety: breaks, edges exposed to the wind, buffers round assets."""
