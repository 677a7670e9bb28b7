"""Helpers of the house: set-up, checks, locks. Standard library only, so that they run before anything is installed."""
