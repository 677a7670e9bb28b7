"""Surfaces as triangles: checked and put in order, cut along a line or a plane, thinned for drawing. Topics may use it."""
