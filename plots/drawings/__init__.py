"""Drawings to scale: plan, side view, roller board; SVG, PDF, DXF; cutting lists."""
