"""Where keys and pallets stand, and what lies between them: keyboards, chests, roller boards, the path of each note."""
