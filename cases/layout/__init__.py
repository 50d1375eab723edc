"""Reading the [layout] of an action case: keyboard, chest, run, roller board."""
