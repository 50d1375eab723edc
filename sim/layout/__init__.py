"""What a layout costs: rollers, twist, mass, evenness; orders of the chest side by side."""
