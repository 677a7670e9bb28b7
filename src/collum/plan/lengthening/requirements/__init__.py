"""What a route must keep: reserves in every draw, and the verdict made of them."""
