"""What a sweep says: indices, effects, fronts, surfaces."""
