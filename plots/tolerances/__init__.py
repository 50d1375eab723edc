"""Pictures of what tolerances do: where scatter comes from, and steps between neighbours."""
