"""femdrum: the stress in a slotted grinder drum, its error, and what follows from it."""
