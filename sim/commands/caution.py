"""What must be said beside figures of springs, and of fibres."""

CAUTION = (
    "Caution: a pallet spring sits loaded in the chest. Eye protection, the long pliers, never fingers; a wire cut "
    "under tension flies."
)

FIBRES = (
    "Caution: dust and splinters of carbon and glass are a hazard to lungs, skin and eyes. Extract at the tool, wear a "
    "fitted mask, goggles and gloves, cap the ends; carbon dust conducts. Local rules go before this."
)

INSIDE = (
    "Caution: work inside an organ is done with the wind off and one person outside who knows of it; what stands on "
    "passage boards and ladders can fall."
)
