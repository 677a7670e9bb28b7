"""Bridges: rules of thumb, a beam on elastic abutments, its loads, and the bed of a pontic."""
