"""The convex programmes behind the lines: their bounds from the draws, the rows and the solution."""
