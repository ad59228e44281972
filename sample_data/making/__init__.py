"""Makes the invented sample farm: the land, the harvest, the weather, the rasters."""
