"""What a plant is: areas, equipment, points, limits, shift calendar, units."""
