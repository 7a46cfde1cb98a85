"""From a marker to a drawing: strokes set down where the placements say, and split over frames and sheets."""
