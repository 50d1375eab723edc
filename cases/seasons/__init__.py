"""The readers of [[member]], [rail] and [season] of an action case, and of a climate's table."""
