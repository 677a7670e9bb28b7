"""The routes, a module each: what it does to the tooth, how its lines are found, simulated and judged."""
