"""Posts and pins: which length, thickness and place a root allows."""
