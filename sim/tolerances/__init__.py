"""What tolerances do at the key: sensitivities of every figure, steps between neighbours, worth, stagger."""
