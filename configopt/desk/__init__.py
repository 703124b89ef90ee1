"""The local web page: a scenario at hand, its choice as limits, ground, prices and pressures are moved."""
