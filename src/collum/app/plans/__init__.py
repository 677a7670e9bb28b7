"""Use cases of a plan: make it, answer what rests on it, print it."""
