"""From what was measured at the keys to what is turned, bent and laid in, in the trade's order, and simulated again."""
