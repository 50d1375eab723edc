"""Pallet springs from the wire in stock."""
