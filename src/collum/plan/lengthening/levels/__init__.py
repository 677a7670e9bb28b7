"""From readings to levels and draws, made once for each set of readings."""
