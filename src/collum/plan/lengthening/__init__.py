"""Winning sound tooth back: levels and their doubt, routes, what each must keep, lines that keep it, what is recommended."""
