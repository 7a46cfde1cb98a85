"""From an order to what must lie on each cloth, and the count of what will come out of it."""
