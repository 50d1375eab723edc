"""What must be said beside every figure of a spring."""

CAUTION = (
    "Caution: a pallet spring sits loaded in the chest. Eye protection, the long pliers, never fingers; a wire cut "
    "under tension flies."
)
