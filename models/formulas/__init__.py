"""Closed forms: air, sections, springs, wood, spans of rods."""
