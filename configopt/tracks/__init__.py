"""Recorded rides: read, cleaned and turned into the terrain part of a scenario."""
