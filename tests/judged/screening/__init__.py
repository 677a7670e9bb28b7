"""Scripted patients at their second visit: what changed since the first has to come out when the list is read to them."""
